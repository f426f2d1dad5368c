"""All settings, all from the environment, with safe defaults. Misconfiguration is a system check."""

import os
import secrets
from datetime import time, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from celery.schedules import crontab

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(os.environ.get("DATA_DIR", BASE_DIR / ".fencerow"))
DATA_DIR.mkdir(parents=True, exist_ok=True)


def _flag(name: str) -> bool:
    return os.environ.get(name, "").lower() in {"1", "true", "yes", "on"}


def _words(name: str, default: str = "") -> list[str]:
    return [word for word in os.environ.get(name, default).replace(",", " ").split() if word]


def _secret_key() -> str:
    """The key from the environment, else one made once and kept beside the embedded database."""
    if key := os.environ.get("DJANGO_SECRET_KEY"):
        return key
    kept = DATA_DIR / "secret_key"
    if not kept.exists():
        made = os.open(kept, os.O_WRONLY | os.O_CREAT, 0o600)
        with os.fdopen(made, "w") as file:
            file.write(secrets.token_urlsafe(50))
    return kept.read_text().strip()


def _database() -> dict[str, Any]:
    url = os.environ.get("DATABASE_URL")
    if not url:
        pragmas = "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;PRAGMA foreign_keys=ON;"
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": DATA_DIR / "fencerow.sqlite3",
            "OPTIONS": {"transaction_mode": "IMMEDIATE", "timeout": 20, "init_command": pragmas},
            "TEST": {"NAME": os.environ.get("TEST_DATABASE_FILE")},
        }
    parts = urlsplit(url)
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": parts.path.lstrip("/"),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": parts.hostname or "",
        "PORT": parts.port or "",
        "CONN_MAX_AGE": 600,
        "CONN_HEALTH_CHECKS": True,
    }


def tile_hosts(address: str) -> list[str]:
    """Where pages may fetch pictures from beside this host: the tile server, if one is named."""
    found = urlsplit(address)
    return [f"{found.scheme}://{found.netloc}"] if found.netloc else []


SECRET_KEY = _secret_key()
DEBUG = _flag("DEBUG")
ALLOWED_HOSTS = _words("ALLOWED_HOSTS", "localhost 127.0.0.1 [::1]")
CSRF_TRUSTED_ORIGINS = _words("CSRF_TRUSTED_ORIGINS")
BEHIND_TLS_PROXY = _flag("BEHIND_TLS_PROXY")

INSTALLED_APPS = [
    "orders.desk.admin_config.AdministrationConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "django_filters",
    "django_htmx",
    "js_lib_leaflet",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "knox",
    "axes",
    "orders.common",
    "orders.sites",
    "orders.crews",
    "orders.supplies",
    "orders.estimates",
    "orders.planning",
    "orders.workorders",
    "orders.field",
    "orders.reminders",
    "orders.calibration",
    "orders.costs",
    "orders.reports",
    "orders.api",
    "orders.desk",
    "orders.tablet",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]
DATABASES = {"default": _database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# People
AUTH_USER_MODEL = "common.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "signpost"
LOGOUT_REDIRECT_URL = "login"
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = timedelta(minutes=10)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_CLIENT_IP_CALLABLE = "orders.common.clients.client_address"
AXES_LOCKOUT_CALLABLE = "orders.desk.views.front.locked_out"
CSRF_FAILURE_VIEW = "orders.desk.views.pages.csrf_failed"
REST_KNOX = {"TOKEN_TTL": timedelta(days=30), "TOKEN_LIMIT_PER_USER": 20}

# The wake-up (see orders.common.runs)
REDIS_URL = os.environ.get("REDIS_URL", "")
QUEUE_DIR = DATA_DIR / "queue"
if REDIS_URL:
    CELERY_BROKER_URL = REDIS_URL
    CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, Any] = {
        "visibility_timeout": 3600,
        "unacked_restore_interval": 2,
        "unacked_restore_throttle": 1,
    }
    SWEEP_SECONDS = 10.0
else:
    QUEUE_DIR.mkdir(parents=True, exist_ok=True)
    CELERY_BROKER_URL = "filesystem://"
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        "data_folder_in": str(QUEUE_DIR),
        "data_folder_out": str(QUEUE_DIR),
        "control_folder": str(QUEUE_DIR / "control"),
        "polling_interval": 0.1,
    }
    SWEEP_SECONDS = 2.0
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_IGNORE_RESULT = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TIMEZONE = "UTC"
CELERY_IMPORTS = ["orders.commands.tasks"]
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA_DIR / "beat-schedule")
CELERY_BEAT_SCHEDULE = {
    "sweep": {"task": "orders.common.tasks.runs_sweep", "schedule": SWEEP_SECONDS},
    "reminders": {"task": "orders.reminders.tasks.reminders_step", "schedule": 300.0},
    "overdue": {"task": "orders.field.tasks.overdue_look", "schedule": 60.0},
    "gaps": {"task": "orders.commands.tasks.gaps_look", "schedule": 60.0},
    "reports": {"task": "orders.reports.tasks.schedules_step", "schedule": 300.0},
    "exports": {"task": "orders.reports.tasks.exports_clean", "schedule": 3600.0},
    "survey-files": {"task": "orders.sites.tasks.survey_files_clean", "schedule": 3600.0},
    "proof": {"task": "orders.costs.tasks.proof_night", "schedule": crontab(hour=8, minute=10)},
}
RUN_LEASE_SECONDS = int(os.environ.get("RUN_LEASE_SECONDS", "30"))
RUN_ATTEMPTS = 5

# Steps by which the bound of a finished plan is tightened at most, in a background run of its own.
PLAN_BOUND_STEPS = int(os.environ.get("PLAN_BOUND_STEPS", "600"))

# Mail: the console in the demo, a server where one is named
EMAIL_HOST = os.environ.get("EMAIL_HOST", "")
EMAIL_PORT = int(os.environ.get("EMAIL_PORT", "25"))
EMAIL_HOST_USER = os.environ.get("EMAIL_HOST_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("EMAIL_HOST_PASSWORD", "")
EMAIL_USE_TLS = _flag("EMAIL_USE_TLS")
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'console'}.EmailBackend"
DEFAULT_FROM_EMAIL = os.environ.get("DEFAULT_FROM_EMAIL", "fencerow@localhost")
MESSAGE_ID_DOMAIN = os.environ.get("MESSAGE_ID_DOMAIN", "fencerow.invalid")
# No reminder is mailed from the one to the other by its reader's clock; a person may choose other hours
QUIET_FROM = time.fromisoformat(os.environ.get("QUIET_FROM", "21:00"))
QUIET_UNTIL = time.fromisoformat(os.environ.get("QUIET_UNTIL", "08:00"))

# Files and pages
STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # whitenoise warns of a folder that is not there
STORAGES = {
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": DATA_DIR / "media"},
    },
    "staticfiles": {"BACKEND": "orders.common.staticfiles.HashedStatic"},
}
WHITENOISE_USE_FINDERS = DEBUG
DATA_UPLOAD_MAX_MEMORY_SIZE = 30 * 1024 * 1024
SURVEY_FILE_MAX_BYTES = 20 * 1024 * 1024
PRODUCT_DOCUMENT_MAX_BYTES = 5 * 1024 * 1024
SURVEY_FILE_MAX_UNPACKED_BYTES = 200 * 1024 * 1024
SURVEY_FILE_MAX_FEATURES = 20_000
SURVEY_FILE_MAX_VERTICES = 2_000_000
SURVEY_FILE_SECONDS = 60
PHOTO_DIR = DATA_DIR / "media" / "photos"
PHOTO_MAX_BYTES = 12 * 1024 * 1024
PHOTO_PART_MAX_BYTES = 256 * 1024
# Files of reports: kept so many days (their rows stay), mailed as a link where they are larger, and the address of the
# program that such a link begins with
EXPORT_DIR = DATA_DIR / "exports"
EXPORT_DAYS = int(os.environ.get("EXPORT_DAYS", "30"))
EXPORT_MAIL_MAX_BYTES = int(os.environ.get("EXPORT_MAIL_MAX_BYTES", str(10 * 1024 * 1024)))
SITE_ADDRESS = os.environ.get("SITE_ADDRESS", next(iter(CSRF_TRUSTED_ORIGINS), "")).rstrip("/")

# Tablets. A batch is answered within TABLET_BATCH_SECONDS or so: what is left over gets no answer and is sent again.
TABLET_DAYS = int(os.environ.get("TABLET_DAYS", "400"))
TABLET_BATCH_MAX_COMMANDS = 50
TABLET_BATCH_MAX_BYTES = 1024 * 1024
TABLET_BATCH_SECONDS = 20.0
TABLET_EXPORT_MAX_BYTES = 200 * 1024 * 1024

# Language and time: instants in UTC; plans are local dates of their site
LANGUAGE_CODE = "en-us"
FORMAT_MODULE_PATH = ["deploy.formats"]
LANGUAGES = [("en", "English"), ("es", "Español")]  # the tablet and printed records; the desk is in English
TIME_ZONE = "UTC"
USE_TZ = True
PROGRAM_TIME_ZONE = os.environ.get("PROGRAM_TIME_ZONE", "America/New_York")
PROGRAM_NAME = os.environ.get("PROGRAM_NAME", "Fencerow")
# Opens the page of the first login while there is none (12 characters or more); without it one is made and printed
FIRST_RUN_CODE = os.environ.get("FIRST_RUN_CODE", "")

# Hardening
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SESSION_ENGINE = "orders.common.sessions"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
X_FRAME_OPTIONS = "DENY"
# The proxy redirects pages to TLS and refuses plain API calls, so SECURE_SSL_REDIRECT stays off (ASVS 5.0 4.1.2).
SECURE_SSL_REDIRECT = False
SILENCED_SYSTEM_CHECKS = ["security.W008"]
if BEHIND_TLS_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
# An address with {z}, {x} and {y} puts tiles of a server that you name under the maps; none by default
MAP_TILE_URL = os.environ.get("MAP_TILE_URL", "")
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "img-src": ["'self'", "data:", *tile_hosts(MAP_TILE_URL)],
        "style-src": ["'self'"],
        "frame-ancestors": ["'none'"],
        "form-action": ["'self'"],
        "base-uri": ["'none'"],
        "object-src": ["'none'"],
    }
}

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "knox.auth.TokenAuthentication",
        "orders.api.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["orders.api.permissions.RoleAllowed"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["orders.api.parsers.StrictJSONParser"],
    "DEFAULT_SCHEMA_CLASS": "orders.api.schema.ProblemSchema",
    "EXCEPTION_HANDLER": "orders.api.problems.problem_handler",
    "DEFAULT_THROTTLE_CLASSES": ["orders.api.throttles.ReadThrottle", "orders.api.throttles.WriteThrottle"],
    "DEFAULT_THROTTLE_RATES": {
        "read": os.environ.get("THROTTLE_READ", "1200/min"),
        "write": os.environ.get("THROTTLE_WRITE", "300/min"),
        "login": os.environ.get("THROTTLE_LOGIN", "20/min"),
        "tablet": os.environ.get("THROTTLE_TABLET", "600/min"),
    },
    "NUM_PROXIES": 1 if BEHIND_TLS_PROXY else 0,
    "UNAUTHENTICATED_USER": None,
    "COERCE_DECIMAL_TO_STRING": True,
}
SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Fencerow",
    "DESCRIPTION": "From a survey of invasive plants to a season of crew work, and what it cost.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    "SORT_OPERATIONS": True,
    "POSTPROCESSING_HOOKS": [],
}

CACHES: dict[str, Any] = {
    "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": REDIS_URL}
    if REDIS_URL
    else {"BACKEND": "django.core.cache.backends.filebased.FileBasedCache", "LOCATION": DATA_DIR / "cache"}
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name} {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": os.environ.get("LOG_LEVEL", "WARNING")},
    "loggers": {
        "fencerow": {"level": os.environ.get("LOG_LEVEL", "INFO")},
        "kombu.connection": {"level": "ERROR"},  # it warns that a queue of files has no host name
    },
}
