"""The settings of the tests: a data folder of their own for each worker, the same SQLite pragmas, a fast
hasher.
"""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

# The records of whoever runs the tests must be out of reach, whatever their environment says.
_FOLDER = tempfile.mkdtemp(prefix="reckoner-tests-")
atexit.register(shutil.rmtree, _FOLDER, ignore_errors=True)
os.environ["DATA_DIR"] = _FOLDER
for _name in ("SITE_URL", "ALLOWED_HOSTS", "TRUSTED_PROXIES", "TIME_ZONE", "EMAIL_URL", "BUCKET_URL"):
    os.environ.pop(_name, None)

from buildlog.settings import *  # noqa: E402, F403
from buildlog.settings import DATABASES, LOGGING, STORAGES  # noqa: E402

if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # A file and not memory, so that WAL, locks and several connections are as they will be; it is thrown
    # away, so it need not reach the disk (tests/endurance sets FULL again).
    DATABASES["default"]["TEST"] = {"NAME": str(Path(_FOLDER) / "tests.sqlite3")}
    DATABASES["default"]["OPTIONS"]["init_command"] = (
        "PRAGMA journal_mode=WAL;PRAGMA synchronous=OFF;PRAGMA foreign_keys=ON;"
    )
    WANTED_PRAGMAS = {"synchronous": 0}
# pytest ends with connections open otherwise, and PostgreSQL then refuses to drop the test database.
DATABASES["default"]["CONN_MAX_AGE"] = 0

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
WHITENOISE_AUTOREFRESH = True
LOGGING["handlers"].pop("stderr")
LOGGING["root"]["handlers"] = ["file"]
