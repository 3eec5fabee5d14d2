"""The settings. What a host may choose comes from the environment (buildlog/site/environment.py)."""

from pathlib import Path
from urllib.parse import urlsplit

from csp.constants import NONE, SELF

from buildlog.site import environment, log

ROOT = Path(__file__).resolve().parent.parent
DATA_DIR = environment.read_data_dir(ROOT / "data")

# --- Where it stands ----
SITE_URL = environment.read_site_url()
IS_HTTPS = SITE_URL.startswith("https://")
SECRET_KEY = environment.read_secret_key(DATA_DIR)
DEBUG = False
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", urlsplit(SITE_URL).hostname or ""]
ALLOWED_HOSTS += environment.read_list("ALLOWED_HOSTS")
CSRF_TRUSTED_ORIGINS = [SITE_URL]
TRUSTED_PROXIES = environment.read_networks("TRUSTED_PROXIES")
# The forwarded scheme is believed only where TRUSTED_PROXIES is set; buildlog.site.network takes the header
# off every request that did not come through one of them.
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if TRUSTED_PROXIES else None

# --- The parts ----
INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "django_htmx",
    "buildlog.apps.BuildlogConfig",
]
MIDDLEWARE = [
    # Notes come first, so that every answer, also a refused one, has an id, a clock and a line in the log.
    "buildlog.site.network.TrustedProxies",
    "buildlog.site.requests.RequestNotes",
    # The policy stands before everything that may answer by itself.
    "csp.middleware.CSPMiddleware",
    "buildlog.site.headers.PrivateByDefault",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "buildlog.site.bounds.BodyBound",
    "buildlog.site.bounds.OddRequests",
    "buildlog.site.waiting.WaitingAnswers",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "buildlog.site.sessions.SessionLimits",
    "django_htmx.middleware.HtmxMiddleware",
    "buildlog.site.sessions.ClosedByDefault",
    "django.contrib.messages.middleware.MessageMiddleware",
    "buildlog.site.disk.DiskFullAnswers",
    "buildlog.site.taken_items.TakenOnce",
]
ROOT_URLCONF = "buildlog.urls"
WSGI_APPLICATION = "buildlog.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [ROOT / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "buildlog.site.context.page",
            ],
            "builtins": ["django.templatetags.i18n", "django.templatetags.static"],
        },
    }
]

# --- The records ----
DATABASES = {"default": environment.read_database(DATA_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
# Photographs are private: no URL serves this folder; views hand files out after asking buildlog.access.
MEDIA_ROOT = DATA_DIR / "photos"
MEDIA_URL = ""
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700
# One photograph may have 40 MB; one more for the rest of its form. waitress stops 1 MB later.
PHOTO_BYTES = 40 * 1024 * 1024
BODY_BYTES = PHOTO_BYTES + 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2000
DATA_UPLOAD_MAX_NUMBER_FILES = 60

# --- People ----
AUTH_USER_MODEL = "buildlog.Account"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "sign-in"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
     "OPTIONS": {"user_attributes": ("sign_in_name",)}},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]  # fmt: skip
PASSWORD_RESET_TIMEOUT = 24 * 60 * 60

# A phone on the bench is picked up every few evenings: 14 days idle keeps it signed in through a fortnight
# away, and 90 days in all bounds what a lost phone can do (buildlog.site.sessions holds both).
SESSION_COOKIE_AGE = 14 * 24 * 60 * 60
SESSION_ABSOLUTE_SECONDS = 90 * 24 * 60 * 60
# Secure cookies are dropped by browsers on every http host but localhost, so a phone on the house network
# could never sign in: the names and flags follow the scheme of SITE_URL.
SESSION_COOKIE_NAME = "__Host-session" if IS_HTTPS else "session"
CSRF_COOKIE_NAME = "__Host-csrf" if IS_HTTPS else "csrf"
DEVICE_COOKIE_NAME = "__Host-device" if IS_HTTPS else "device"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = IS_HTTPS
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "buildlog.site.errors.csrf_failure"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

# --- Headers ----
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        # A photograph just chosen is shown from the phone's own memory before it is sent.
        "img-src": [SELF, "blob:"],
        "base-uri": [NONE],
        "object-src": [NONE],
        "frame-ancestors": [NONE],
    }
}
# no-referrer would make forms send `Origin: null`, which the CSRF check refuses.
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CONTENT_TYPE_NOSNIFF = True
X_FRAME_OPTIONS = "DENY"
SECURE_SSL_REDIRECT = IS_HTTPS
SECURE_REDIRECT_EXEMPT = [r"^healthz$"]
SECURE_HSTS_SECONDS = 31_536_000 if IS_HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = IS_HTTPS
# Browsers ignore this header on http and say so in their console on every page.
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin" if IS_HTTPS else None
# Preloading is a promise for a whole domain and hard to take back: its owner makes it, not this program.
SILENCED_SYSTEM_CHECKS = ["security.W021"]

# --- Static files ----
STATIC_URL = "/static/"
STATICFILES_DIRS = [ROOT / "static"]
STATIC_ROOT = ROOT / "collected"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
WHITENOISE_KEEP_ONLY_HASHED_FILES = False

# --- Words and times ----
LANGUAGES = [("en", "English")]
LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
TIME_ZONE = environment.read_time_zone()
# A callable that returns an aware UTC time, for tests; None is the real clock.
CLOCK = None

# --- Mail (optional: every link can also be printed by `manage.py account`)
# -------------------------------------
globals().update(environment.read_email())
DEFAULT_FROM_EMAIL = SERVER_EMAIL = f"reckoner@{urlsplit(SITE_URL).hostname}"

# --- The log ----
LOGGING_CONFIG = "logging.config.dictConfig"
LOGGING = log.configuration(DATA_DIR / "log")
