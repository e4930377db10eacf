"""Settings.  All state lives under REHOME_HOME; the environment may name another database and host names."""

import ipaddress
import os
import secrets
import zoneinfo
from importlib import metadata
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import dj_database_url
import platformdirs
import tzlocal
from corsheaders.defaults import default_headers
from django.core.exceptions import ImproperlyConfigured

from config.api_tags import TAGS
from inventory.cookie_names import cookie_names

CONFIG = Path(__file__).resolve().parent
PACKED = (CONFIG / "templates").is_dir()
"""Installed as a package, which holds what lies beside `manage.py` in the folder."""
BASE_DIR = CONFIG if PACKED else CONFIG.parent
PROGRAM = "rehome" if PACKED else "python3 manage.py"
"""What commands are run with here."""
HOME = Path(
    os.environ.get("REHOME_HOME")
    or (platformdirs.user_data_path("rehome") if PACKED else BASE_DIR / "workshop")
).resolve()
"""The folder of all state; `inventory.installation` makes it, and only where that was asked for."""


def env_bool(name: str, default: bool) -> bool:
    """Read a yes/no variable; anything unexpected is refused rather than guessed."""
    text = os.environ.get(name, "").strip().lower()
    if text in {"", "1", "0", "yes", "no", "true", "false"}:
        return default if not text else text in {"1", "yes", "true"}
    raise ImproperlyConfigured(f"{name}={text!r}: expected 1 or 0")


def networks(name: str) -> list[ipaddress.IPv4Network | ipaddress.IPv6Network]:
    """Read addresses or networks, comma between."""
    try:
        return [
            ipaddress.ip_network(each.strip()) for each in os.environ.get(name, "").split(",") if each.strip()
        ]
    except ValueError as error:
        raise ImproperlyConfigured(
            f"{name}: {error}; expected addresses such as 127.0.0.1,10.0.0.0/8"
        ) from None


def kept_secret(path: Path) -> str:
    """The workshop's secret key; where there is none yet, one drawn now, kept when the workshop is begun."""
    try:
        kept = path.read_text().strip()
    except (OSError, UnicodeDecodeError):  # `installation.check_secret_key` says it to whom it stops
        kept = ""
    return kept or secrets.token_urlsafe(50)


def installed_version() -> str:
    """The version of Rehome; blank where it is run from the folder with libraries from elsewhere."""
    try:
        return metadata.version("rehome")
    except metadata.PackageNotFoundError:
        return ""


VERSION = installed_version()
DEBUG = env_bool("REHOME_DEBUG", False)
SECRET_KEY = os.environ.get("REHOME_SECRET_KEY", "").strip() or kept_secret(HOME / "secret-key")
HOSTS_NAMED = bool(os.environ.get("REHOME_HOSTS"))
"""Else `inventory.watching.known_host` says which names are this machine's."""
ALLOWED_HOSTS = (os.environ.get("REHOME_HOSTS") or "*").split(",")
CSRF_TRUSTED_ORIGINS = [origin for origin in os.environ.get("REHOME_ORIGINS", "").split(",") if origin]


def origins(name: str) -> list[str]:
    """Read origins such as https://bench.example, comma between."""
    read = [each.strip().rstrip("/") for each in os.environ.get(name, "").split(",") if each.strip()]
    for each in read:
        parts = urlsplit(each)
        whole = each == f"{parts.scheme}://{parts.netloc}"
        if parts.scheme not in ("http", "https") or not parts.netloc or not whole:
            raise ImproperlyConfigured(f"{name}: {each!r} is no origin such as https://bench.example")
    return read


CORS_ALLOWED_ORIGINS = origins("REHOME_CORS")
"""Origins whose scripts may ask the API, with a key; a session of the pages is never theirs to use."""
CORS_URLS_REGEX = r"^/api/"
CORS_ALLOW_HEADERS = (*default_headers, "idempotency-key", "if-match", "if-none-match")
CORS_EXPOSE_HEADERS = ("ETag", "Location", "Retry-After", "X-Request-ID")

OWN_APPS = ("inventory", "repairs")
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
    "corsheaders",
    *OWN_APPS,
]

MIDDLEWARE = [
    "inventory.watching.behind_proxy",
    "inventory.watching.written_down",
    "inventory.watching.known_host",
    "corsheaders.middleware.CorsMiddleware",
    "inventory.watching.fit_to_serve",
    "django.middleware.security.SecurityMiddleware",
    "inventory.pages.policy.content_security_policy",
    "config.static_files.CompressedStatic",
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
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=-65536;",
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
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
    {"NAME": "inventory.passwords.NotGuessedAtOnce"},
]
LOGIN_URL = "/sign-in/"
LOGIN_REDIRECT_URL = "/"

LANGUAGE_CODE = "en-gb"


def time_zone() -> tuple[str, str]:
    """The zone that days and hours are told in, and who says so: REHOME_TIME_ZONE, else this machine."""
    named = os.environ.get("REHOME_TIME_ZONE", "").strip()
    try:
        zone = named or tzlocal.get_localzone_name()
        zoneinfo.ZoneInfo(zone)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        if named:
            raise ImproperlyConfigured(
                f"REHOME_TIME_ZONE={named!r}: expected a time zone name, such as Europe/Lisbon"
            ) from None
        return "UTC", "this machine names none that is known; REHOME_TIME_ZONE can"
    return zone, "by REHOME_TIME_ZONE" if named else "this machine's; REHOME_TIME_ZONE names another"


TIME_ZONE, TIME_ZONE_SOURCE = time_zone()
USE_I18N = False
USE_TZ = True

STATIC_URL = "/static/"
WHITENOISE_USE_FINDERS = True  # served straight from the packages: no collectstatic step to forget
WHITENOISE_MAX_AGE = 30 * 24 * 3600  # another file has another address: see config/static_files.py
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "config.static_files.AddressedByContent"},
}
MEDIA_ROOT = HOME / "pictures"

BACKUPS = Path(os.environ.get("REHOME_BACKUPS") or HOME / "backups").resolve()

SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = cookie_names(SECRET_KEY)
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
    "DEFAULT_THROTTLE_CLASSES": ["inventory.api.rates.SharedRate"],
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
    "LICENSE": {"name": "MIT", "identifier": "MIT"},
    "VERSION": VERSION,
    "OAS_VERSION": "3.1.0",
    "SERVERS": [{"url": "/", "description": "This bench, at the address that it was asked at."}],
    "TAGS": TAGS,
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "inventory.api.schema.without_unused",
    ],
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "COMPONENT_SPLIT_REQUEST": True,
    "SERVE_PERMISSIONS": ["inventory.api.permissions.RoleMay"],
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    # Folded, a page of 200 operations opens at once; the box finds one by the name of its tag.
    "SWAGGER_UI_SETTINGS": {"deepLinking": True, "docExpansion": "none", "filter": True},
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "ENUM_NAME_OVERRIDES": {
        "RefusalCode": "inventory.api.schema.CODES",
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
        "CheckEnum": "repairs.proving.items.PERSONAL",
        "ItemState": "repairs.proving.items.STATES",
        "DeliveryStatus": "repairs.webhook_models.WebhookDelivery.Status",
        "Verdict": "repairs.models.Trial.Verdict",
        "LiftingStage": ["pull", "large", "small", "chip"],
        "ListTable": ["stock", "design"],
        "SheetKind": ["stock", "design", "donor", "buy"],
        "DesignTake": ["theirs", "mine", "both"],
        "AskState": "repairs.sharing_models.FriendAsk.State",
        "SpareCondition": ["good", "untested"],
    },
}

PROXIES = networks("REHOME_PROXY")
"""Proxies in front of this server, which alone are heard on scheme, host and client address."""
WEBHOOK_NETWORKS = networks("REHOME_WEBHOOK_NETWORKS")
"""Private networks that webhooks may be sent to; without them, out into the world alone."""
HTTPS = env_bool("REHOME_HTTPS", bool(PROXIES))
"""Whether people come by https, so that nothing secret goes by http; where there is a proxy, they do."""
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
SECURE_REDIRECT_EXEMPT = ["^healthz$"]
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
# What the names beside and below this one do by http is not for a bench to decide.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]

SLOW_MILLISECONDS = 2000
LOG_FORMS = {
    "text": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"},
    "json": {"()": "inventory.watching.JsonLines"},
}
LOG_FORM = os.environ.get("REHOME_LOG") or "text"
if LOG_FORM not in LOG_FORMS:
    raise ImproperlyConfigured(f"REHOME_LOG={LOG_FORM!r}: expected one of {', '.join(LOG_FORMS)}")
LOG_FILE = os.environ.get("REHOME_LOG_FILE", "")
LOG_HANDLER: dict[str, Any] = {"class": "logging.StreamHandler", "formatter": LOG_FORM}
if LOG_FILE:
    LOG_HANDLER |= {
        "class": "logging.handlers.RotatingFileHandler", "filename": LOG_FILE,
        "maxBytes": 10 * 1024 * 1024, "backupCount": 9, "delay": True,
    }  # fmt: skip
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": LOG_FORMS,
    "handlers": {"log": LOG_HANDLER},
    "root": {"handlers": ["log"], "level": "WARNING"},
    "loggers": {
        "rehome": {"level": "INFO"},
        # How many wait for a thread is no news: what took long is named by `rehome.requests`.
        "waitress.queue": {"level": "ERROR"},
    },
}
