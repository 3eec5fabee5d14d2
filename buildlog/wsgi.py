"""The door for a web server: `waitress` through `manage.py serve`, or gunicorn where a club uses it."""

import os

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "buildlog.settings")
django.setup(set_prefix=False)

from buildlog.site.requests import Handler  # noqa: E402 - the settings come first.

application = Handler()
