"""Settings.  All state lives under REHOME_HOME; the environment may name another database and host names."""

import os
import secrets
from pathlib import Path
from typing import Any

import dj_database_url
from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent
HOME = Path(os.environ.get("REHOME_HOME", BASE_DIR / "workshop")).resolve()
HOME.mkdir(parents=True, exist_ok=True)


def env_bool(name: str, default: bool) -> bool:
    """Read a yes/no variable; anything unexpected is refused rather than guessed."""
    text = os.environ.get(name, "").strip().lower()
    if text in {"", "1", "0", "yes", "no", "true", "false"}:
        return default if not text else text in {"1", "yes", "true"}
    raise ImproperlyConfigured(f"{name}={text!r}: want 1 or 0")


def kept_secret(path: Path) -> str:
    """The secret key, made once and readable by its owner alone."""
    try:
        with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(50))
    except FileExistsError:
        pass
    return path.read_text()


DEBUG = env_bool("REHOME_DEBUG", False)
SECRET_KEY = os.environ.get("REHOME_SECRET_KEY") or kept_secret(HOME / "secret-key")
ALLOWED_HOSTS = os.environ.get("REHOME_HOSTS", "*").split(",")
CSRF_TRUSTED_ORIGINS = [origin for origin in os.environ.get("REHOME_ORIGINS", "").split(",") if origin]

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "inventory",
    "repairs",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "inventory.pages.policy.content_security_policy",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

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
            ]
        },
    }
]


def database() -> dict[str, Any]:
    """The database that DATABASE_URL names, or the embedded SQLite file under REHOME_HOME."""
    url = os.environ.get("DATABASE_URL", "")
    config: dict[str, Any] = dict(dj_database_url.parse(url or f"sqlite:///{HOME / 'rehome.sqlite3'}"))
    if config["ENGINE"] == "django.db.backends.sqlite3":
        config["OPTIONS"] = {
            "transaction_mode": "IMMEDIATE",  # a writer queues at BEGIN instead of failing halfway
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA cache_size=-65536;",
        }
        config["TEST"] = {"NAME": str(HOME / "test.sqlite3")}  # threads and processes need a file
    else:
        config["CONN_MAX_AGE"] = 60
        config["CONN_HEALTH_CHECKS"] = True
    return config


DATABASES = {"default": database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "/sign-in/"
LOGIN_REDIRECT_URL = "/"

LANGUAGE_CODE = "en-gb"
TIME_ZONE = os.environ.get("TZ", "UTC")
USE_I18N = False
USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = HOME / "static"
STATIC_ROOT.mkdir(exist_ok=True)
WHITENOISE_USE_FINDERS = True  # served straight from the packages: no collectstatic step to forget
WHITENOISE_MAX_AGE = 30 * 24 * 3600  # another file has another address: see config/static_files.py
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "config.static_files.AddressedByContent"},
}
MEDIA_ROOT = HOME / "pictures"

SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"

UPLOAD_BYTES = 20 * 1024 * 1024
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "inventory.api.signing_in.KeyAuthentication",  # first: it decides that nobody is 401, not 403
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["inventory.api.permissions.RoleMay"],
    "DEFAULT_PARSER_CLASSES": ["inventory.api.parsers.JsonBody"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_CONTENT_NEGOTIATION_CLASS": "inventory.api.parsers.JsonWhateverIsAsked",
    "DEFAULT_THROTTLE_CLASSES": ["rest_framework.throttling.UserRateThrottle"],
    "DEFAULT_THROTTLE_RATES": {"user": os.environ.get("REHOME_RATE", "1200/min")},
    "DEFAULT_SCHEMA_CLASS": "inventory.api.schema.BenchSchema",
    "DEFAULT_METADATA_CLASS": None,
    "EXCEPTION_HANDLER": "inventory.api.problems.problem_handler",
    "URL_FORMAT_OVERRIDE": None,  # ?format= is a parameter like any other: unknown where nothing reads it
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}

SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Rehome",
    "DESCRIPTION": "The ledger of a repair bench that lives on salvaged parts.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "COMPONENT_SPLIT_REQUEST": True,
    "SERVE_PERMISSIONS": ["inventory.api.permissions.RoleMay"],
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "ENUM_NAME_OVERRIDES": {
        "SpecKind": "inventory.spec.KINDS",
        "MovementKind": "inventory.models.Movement.Kind",
        "PlaceType": "inventory.models.Place.Type",
        "Purpose": "inventory.models.Board.Purpose",
        "Source": "inventory.models.Lot.Source",
        "Condition": "inventory.models.Lot.Condition",
        "JobStatus": "repairs.models.Job.Status",
        "NeedStatus": "repairs.models.Need.Status",
        "ReservationStatus": "repairs.models.Reservation.Status",
        "PurchaseState": "repairs.models.Purchase.State",
        "Verdict": "repairs.models.Trial.Verdict",
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"stderr": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
}
