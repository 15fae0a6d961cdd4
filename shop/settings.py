"""Django settings. The environment is read here, once; a bad value stops the start by its name."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from shop import environment as read

BASE_DIR = Path(__file__).resolve().parent.parent
ENV = os.environ

DEBUG = read.read_bool(ENV, "DEBUG", default=False)
DATA_DIR = Path(ENV.get("DATA_DIR") or BASE_DIR / "var").resolve()
FILES_DIR = DATA_DIR / "files"
SECRET_KEY_FILE = DATA_DIR / "secret_key"
BASE_URL = read.read_base_url(ENV, "BASE_URL", default="http://127.0.0.1:8000")
REDIS_URL = ENV.get("REDIS_URL", "")
LISTEN = read.read_listen(ENV, "LISTEN")
WEB_PROCESSES = read.read_int(
    ENV, "WEB_PROCESSES", default=min(os.cpu_count() or 1, 4), least=1, most=64
)

# The key comes from the environment or from the file that `serve` makes. Without either the key
# stays empty: whatever needs it is refused, and commands that need no key still run.
SECRET_KEY = ENV.get("SECRET_KEY") or (
    SECRET_KEY_FILE.read_text(encoding="ascii").strip() if SECRET_KEY_FILE.is_file() else ""
)

_host = urlsplit(BASE_URL).hostname or ""
_https = BASE_URL.startswith("https://")
ALLOWED_HOSTS = read.read_list(ENV, "ALLOWED_HOSTS") or sorted({_host, *read.LOCAL_NAMES})
CSRF_TRUSTED_ORIGINS = [BASE_URL]
LOCAL_HTTP = not _https

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "drf_spectacular",
    "fuelsys",
    "shop",
]
MIDDLEWARE = [
    "shop.sealing.OwnerTokenMiddleware",  # before anything that could write a path down
    "django.middleware.security.SecurityMiddleware",
    "shop.middleware.SecurityHeadersMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "shop.middleware.OwnOriginMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "shop.middleware.MemberMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "shop.middleware.RefusalMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"
TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

DATABASES = {"default": read.read_database(ENV, "DATABASE_URL", data_dir=DATA_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "shop.User"
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "login"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]

LANGUAGE_CODE = "en-us"
LANGUAGES = [("en-us", "English (United States)")]
LOCALE_PATHS = [BASE_DIR / "shop" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
MEDIA_ROOT = FILES_DIR

SESSION_COOKIE_AGE = 7 * 24 * 3600  # signed in for a week at most, however busy
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = _https
SESSION_COOKIE_NAME = "__Host-session" if _https else "session"
CSRF_COOKIE_NAME = "__Host-csrf" if _https else "csrf"
CSRF_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "shop.errors.csrf_failure"
SECURE_SSL_REDIRECT = _https
SECURE_REDIRECT_EXEMPT = [r"^health$"]  # the health check asks from inside, without the proxy
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if _https and read.is_real_domain(_host) else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_SECONDS > 0
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DEFAULT_EXCEPTION_REPORTER_FILTER = "shop.reporting.ReporterFilter"
BEHIND_PROXY = read.read_bool(ENV, "BEHIND_PROXY", default=False)
# The proxy in front must set this header itself and drop what a client sends under its name.
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
# How many proxies of our own stand in a row before the service, each adding to X-Forwarded-For.
TRUSTED_PROXIES = read.read_int(ENV, "TRUSTED_PROXIES", default=int(BEHIND_PROXY), least=0, most=9)

# Mail goes out through the server that is named here. Without one it is written to files, which
# the page of mails says; nothing pretends to have been sent.
EMAIL_HOST = ENV.get("SMTP_HOST", "")
EMAIL_PORT = read.read_int(ENV, "SMTP_PORT", default=587, least=1, most=65535)
EMAIL_HOST_USER = ENV.get("SMTP_USER", "")
EMAIL_HOST_PASSWORD = ENV.get("SMTP_PASSWORD", "")
EMAIL_USE_TLS = read.read_bool(ENV, "SMTP_STARTTLS", default=EMAIL_PORT == 587)
EMAIL_USE_SSL = EMAIL_PORT == 465
EMAIL_TIMEOUT = 30  # seconds; far below the time for which a follow-up is claimed
EMAIL_FILE_PATH = DATA_DIR / "mail"
EMAIL_BACKEND = "django.core.mail.backends." + (
    "smtp.EmailBackend" if EMAIL_HOST else "filebased.EmailBackend"
)
MAIL_FROM = ENV.get("MAIL_FROM", "")  # else the yard's own address

# security.W021 asks for HSTS preload. Preloading is a promise about a whole domain in every
# browser that takes months to withdraw; the shop that owns the domain makes it, not this program.
SILENCED_SYSTEM_CHECKS = ["security.W021"]

# A render that exceeds one of these stops alone; the worker and the other papers go on.
RENDER_SECONDS = read.read_int(ENV, "RENDER_SECONDS", default=45, least=1, most=600)
RENDER_MEMORY_BYTES = 2**20 * read.read_int(
    ENV, "RENDER_MEMORY_MIB", default=1024, least=256, most=65536
)

# Kind of document -> the module whose `render_html(document)` makes its HTML.
PAPERS = {
    "quote": "shop.documents.quote",
    "invoice": "shop.documents.invoice",
    "credit_note": "shop.documents.credit_note",
    "change_order": "shop.documents.change_order",
    "work_order": "shop.documents.work_order",
    "completion": "shop.documents.completion",
    "addendum": "shop.documents.addendum",
    "tags": "shop.documents.tags",
    "letter": "shop.documents.letter",
}

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "shop.api.keys.TokenAuthentication",
        "shop.api.keys.PageSession",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["shop.api.keys.IsMember"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["shop.api.parsing.ShallowParser"],
    "DEFAULT_PAGINATION_CLASS": "shop.api.paging.Pages",
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "shop.api.problems.problem_answer",
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Hosewright",
    "VERSION": "1",
    "DESCRIPTION": "Evaluations, boats, quotes, work orders, events, documents and lots of a shop.",
    "SERVE_INCLUDE_SCHEMA": False,
    "COMPONENT_SPLIT_REQUEST": True,
    "OAS_VERSION": "3.1.0",  # its schemas are JSON Schemas, so that a test can hold answers to them
    "ENUM_NAME_OVERRIDES": {
        "QuoteStatus": "shop.models.quotes.QuoteStatus",
        "WorkOrderStatus": "shop.models.workorders.WorkOrderStatus",
    },
}

LOGGING: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "filters": {"refusals": {"()": "shop.reporting.RefusalFilter"}},
    "handlers": {
        "stderr": {"class": "logging.StreamHandler", "formatter": "line", "filters": ["refusals"]}
    },
    # Five lines of progress for every paper otherwise.
    "loggers": {
        "weasyprint.progress": {"level": "WARNING"},
        "fontTools": {"level": "WARNING"},
    },
    "root": {"handlers": ["stderr"], "level": ENV.get("LOG_LEVEL", "INFO").upper()},
}
