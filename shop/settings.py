"""Settings of the whole shop. Everything has a value that works with nothing configured; DEVELOPERS.md lists the variables."""

from datetime import timedelta
from pathlib import Path

from csp.constants import NONE, SELF

from shop import environment as env
from shop.database import database_settings
from shop.sign_in.key_file import secret_key
from shop.sign_in.reach import read_reach

BASE_DIR = Path(__file__).resolve().parent.parent
SHOP_FOLDER = env.folder("SHOP_FOLDER", BASE_DIR / ".shop" / "own")

DEBUG = env.flag("SHOP_DEBUG", False)
SECRET_KEY = env.text("SHOP_SECRET_KEY") or secret_key(SHOP_FOLDER)
# Keys that the shop had before: what they signed or sealed can still be read.
SECRET_KEY_FALLBACKS = env.names("SHOP_SECRET_KEY_OLD", [])
# This machine, the shop's network or the internet; what follows from it, and what each does without, is said there.
REACH = read_reach()
ALLOWED_HOSTS = REACH.hosts
CSRF_TRUSTED_ORIGINS = REACH.origins

INSTALLED_APPS = [
    "shop",
    "inventory",
    "jobs",
    "billing",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_tables2",
    "django_filters",
    "django_htmx",
    "csp",
    "axes",
]
MIDDLEWARE = [
    "shop.web.headers.Guarded",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "shop.web.middleware.Sessions",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "csp.middleware.CSPMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.web.still_signed_in.StillSignedIn",
    "shop.web.middleware.KnownMethods",
    "shop.web.middleware.SignInRequired",
    "shop.audit.middleware.Audited",
    "shop.web.busy.ToldToWait",
    "shop.web.preview.LookedAt",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shop.web.context.shop_context",
            ],
        },
    },
]
DATABASES = {"default": database_settings(env.text("DATABASE_URL"), SHOP_FOLDER / "shop.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "shop.Staff"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 8}},
    {"NAME": "shop.sign_in.passwords.NotTooLong"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "shop.sign_in.passwords.NotOurWords"},
]
PASSWORD_HASHERS = [
    "shop.sign_in.hashing.ShopArgon2",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
# Wrong passwords, by name and address together: everybody in a shop shares an address (shop.sign_in.throttle).
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_ON_SUCCESS = True
# Trying on while shut out makes it no longer, so the page may say how long it is.
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_CLIENT_IP_CALLABLE = "shop.sign_in.events.address_of"
AXES_USERNAME_CALLABLE = "shop.sign_in.throttle.hashed_name"
AXES_LOCKOUT_CALLABLE = "shop.sign_in.throttle.told_to_wait"
# Comings and goings are the shop's own ledger of access.
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
# Signed in without use, and at the longest.
IDLE_LIMIT, LONGEST_SIGN_IN = REACH.idle, REACH.longest
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "login"

LANGUAGE_CODE = "en-gb"
TIME_ZONE = env.text("SHOP_TIME_ZONE", "UTC")
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True
MEDIA_ROOT = SHOP_FOLDER / "photos"
STORAGES = {
    "default": {"BACKEND": "shop.pictures.storage.WholeFiles"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# Suppliers' lists between being sent and being taken in; for a day at most.
WAITING_FOLDER = SHOP_FOLDER / "waiting"
# Where copies of the whole shop are made; another disk is better.
BACKUP_FOLDER = env.folder("SHOP_BACKUPS", SHOP_FOLDER / "backups")
# Work that takes longer than a page may: its kinds, and how many run at once in the serving process.
LONG_WORK = "shop.works.KINDS"
LONG_WORK_AT_ONCE = 2
PHOTO_MAX_BYTES = env.number("SHOP_PHOTO_MEGABYTES", 15, 1, 200) * 1_000_000
DATA_UPLOAD_MAX_MEMORY_SIZE = 5_000_000
# A model's whole called-for list is one form.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 10_000
DJANGO_TABLES2_TEMPLATE = "_table.html"

# A browser keeps a cookie of this prefix only if it came by TLS, for this host and all of it (RFC 6265bis, 4.1.3.2).
_HOST_ONLY = "__Host-" if REACH.is_https else ""
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = f"{_HOST_ONLY}sessionid", f"{_HOST_ONLY}csrftoken"
SESSION_ENGINE = "shop.sign_in.sessions"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
# Kept a little longer than anybody may stay, so that who comes too late is told why.
SESSION_COOKIE_AGE = int((LONGEST_SIGN_IN + timedelta(days=1)).total_seconds())
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = REACH.is_https
SECURE_HSTS_SECONDS = 31_536_000 if REACH.is_https else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = REACH.is_https
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# Nothing but what is named; no inline script or style anywhere, so no nonce is needed.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        # Drawings on the pages of papers are in them; a photo is shown while it is being sent.
        "img-src": [SELF, "data:", "blob:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

# What breaks is told where the shop was started; who serves also keeps warnings and errors in a file (shop.web.logs).
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"one_line": {"()": "shop.web.logs.OneLine"}},
    "handlers": {"here": {"class": "logging.StreamHandler", "level": "ERROR", "formatter": "one_line"}},
    "loggers": {name: {"handlers": ["here"], "level": "INFO"} for name in ("django", "shop")},
}
