"""Settings of the whole shop. Everything has a value that works with nothing configured; DEVELOPERS.md lists the variables."""

import secrets
from pathlib import Path

from csp.constants import NONCE, NONE, SELF

from shop import environment as env
from shop.database import database_settings

BASE_DIR = Path(__file__).resolve().parent.parent
SHOP_FOLDER = env.folder("SHOP_FOLDER", BASE_DIR / ".shop" / "own")


def secret_key(folder: Path) -> str:
    """Made once at first start, readable by its owner only. A folder that can't be written is refused in words."""
    path = folder / "secret.key"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            path.touch(mode=0o600)
            path.write_text(secrets.token_urlsafe(50))
        return path.read_text().strip()
    except OSError as error:
        raise env.BadEnvironment(
            f"The shop's folder {folder} can't be used ({error.strerror}). Set SHOP_FOLDER to one that can be written."
        ) from error


DEBUG = env.flag("SHOP_DEBUG", False)
SECRET_KEY = env.text("SHOP_SECRET_KEY") or secret_key(SHOP_FOLDER)
# A shop's own network: the address of the counter's PC is not known beforehand. The internet profile names its hosts.
ALLOWED_HOSTS = env.names("SHOP_HOSTS", ["*"])
CSRF_TRUSTED_ORIGINS = env.names("SHOP_ORIGINS", [])
SERVED_OVER_HTTPS = env.flag("SHOP_HTTPS", False)

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
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "csp.middleware.CSPMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.web.middleware.SignInRequired",
    "shop.audit.middleware.Audited",
    "shop.web.busy.ToldToWait",
    "shop.web.preview.LookedAt",
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
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 8}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
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

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = SERVED_OVER_HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if SERVED_OVER_HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = SERVED_OVER_HTTPS
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "script-src": [SELF, NONCE],
        "style-src": [SELF],
        "object-src": [NONE],
        "base-uri": [SELF],
        "form-action": [SELF],
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
