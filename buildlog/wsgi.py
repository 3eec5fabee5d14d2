"""The door for a web server: `waitress` through `manage.py serve`, or gunicorn where a club uses it."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "buildlog.settings")

application = get_wsgi_application()
