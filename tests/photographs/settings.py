"""The settings of a photographing run: a log of its own, plain static files."""

from buildlog.settings import *  # noqa: F403
from buildlog.settings import LOGGING, STORAGES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
LOGGING["handlers"].pop("stderr", None)
LOGGING["root"]["handlers"] = ["file"]
