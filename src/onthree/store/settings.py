"""Django's settings for command line and web alike, from ONTHREE_FOLDER and DATABASE_URL; reads, never writes."""

import os
from datetime import date
from pathlib import Path
from typing import Any

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
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "django_htmx",
    "simple_history",
    "django_tasks",
    "django_tasks_db",
    "onthree.store",
    "onthree.web",
]

TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}  # films wait in the same database

ROOT_URLCONF = "onthree.web.urls"
MIDDLEWARE = [
    "onthree.web.headers.strict_headers",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "onthree.web.access.WhoAsks",
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

AUTHORITY: Any = None  # the files of the local certificate authority, while the local network is served
LOCAL_ADDRESS = ""  # where other devices find the pages then
LOOPBACK_ONLY = True  # what comes from this computer is the lead's; a server on other addresses sets it to False

_VALIDATION = "django.contrib.auth.password_validation"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"{_VALIDATION}.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": f"{_VALIDATION}.UserAttributeSimilarityValidator"},
    {"NAME": f"{_VALIDATION}.CommonPasswordValidator"},
    {"NAME": f"{_VALIDATION}.NumericPasswordValidator"},
]
LOGIN_URL = "sign-in"
SESSION_COOKIE_AGE = 12 * 60 * 60  # an event day [s]
SESSION_COOKIE_SAMESITE = "Lax"  # a link in a message opens the page, no form of another site is sent
CSRF_FAILURE_VIEW = "onthree.web.views.refusals.not_from_here"

X_FRAME_OPTIONS = "DENY"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Strict"

LOGGING = {  # a fault is printed where the program runs
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"printed": {"class": "logging.StreamHandler"}},
    "loggers": {
        "django": {"handlers": ["printed"], "level": "ERROR"},
        "waitress": {"handlers": ["printed"], "level": "ERROR"},
    },
}
