"""Django's settings for command line and web alike, from ONTHREE_FOLDER and DATABASE_URL; reads, never writes."""

import os
from datetime import date
from pathlib import Path

from onthree.store.place import DEFAULT_FOLDER, SECRET_NAME, database_at

FOLDER = Path(os.environ.get("ONTHREE_FOLDER") or DEFAULT_FOLDER).expanduser().absolute()
DATABASE_URL = os.environ.get("DATABASE_URL") or None

_secret = FOLDER / SECRET_NAME  # made when the store is opened for the first time
SECRET_KEY = _secret.read_text(encoding="ascii").strip() if _secret.exists() else ""

DATABASES = {"default": database_at(FOLDER, DATABASE_URL)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.staticfiles",
    "django_htmx",
    "simple_history",
    "onthree.store",
    "onthree.web",
]

ROOT_URLCONF = "onthree.web.urls"
MIDDLEWARE = [
    "onthree.web.headers.strict_headers",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {"context_processors": ["django.template.context_processors.request"]},
    }
]

STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True  # static files come straight from the installed package, nothing to collect
WHITENOISE_ALLOW_ALL_ORIGINS = False

TODAY: date | None = None  # the day the pages use as today; None is the clock's

DEBUG = False
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
USE_TZ = True
TIME_ZONE = None  # the computer's own; a named one would become that of the whole process, and move "today"
LANGUAGE_CODE = "en"
USE_I18N = False

X_FRAME_OPTIONS = "DENY"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Strict"

LOGGING = {  # a fault is printed where the program runs
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"printed": {"class": "logging.StreamHandler"}},
    "loggers": {"django": {"handlers": ["printed"], "level": "ERROR"}},
}
