import runpy
from pathlib import Path

import pytest
from django.test import Client

from buildlog import settings as own_settings
from buildlog.models import Account

SCHEME_DEPENDENT = (
    "SITE_URL",
    "IS_HTTPS",
    "CSRF_TRUSTED_ORIGINS",
    "SESSION_COOKIE_NAME",
    "CSRF_COOKIE_NAME",
    "DEVICE_COOKIE_NAME",
    "SESSION_COOKIE_SECURE",
    "CSRF_COOKIE_SECURE",
    "SECURE_SSL_REDIRECT",
    "SECURE_HSTS_SECONDS",
    "SECURE_HSTS_INCLUDE_SUBDOMAINS",
    "SECURE_CROSS_ORIGIN_OPENER_POLICY",
    "ALLOWED_HOSTS",
    "TRUSTED_PROXIES",
    "SECURE_PROXY_SSL_HEADER",
)


@pytest.fixture(autouse=True)
def pages(settings):
    settings.ROOT_URLCONF = "tests.buildlog.site.pages"


@pytest.fixture
def account(db) -> Account:
    return Account.objects.create_account("anna", "keel and garboard")


@pytest.fixture
def settings_under(monkeypatch, tmp_path):
    """Read the settings file again under another environment; return what it says."""

    def read(**environment) -> dict:
        monkeypatch.setenv("DATA_DIR", str(tmp_path / "data"))
        # The suite itself may run on PostgreSQL, named in the environment.
        monkeypatch.delenv("DATABASE_URL", raising=False)
        for name, value in environment.items():
            monkeypatch.setenv(name, value)
        return runpy.run_path(str(Path(own_settings.__file__)))

    return read


@pytest.fixture
def serve_under(settings, settings_under):
    """Serve the pages under another environment; return a client for it."""

    def under(**environment) -> Client:
        said = settings_under(**environment)
        for name in SCHEME_DEPENDENT:
            setattr(settings, name, said[name])
        return Client()

    return under
