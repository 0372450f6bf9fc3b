"""Django settings: the only place that reads the environment. With nothing set it runs on SQLite."""

import os
from pathlib import Path
from typing import Any

from config.env import Environment, database_from_url, sqlite
from config.secret_key import read_or_make_secret_key
from motion.threads import cores

env = Environment()

# Where things are ---------------------------------------------------------------------------------
BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = env.folder("BURNLINE_DATA", BASE_DIR / "data")
UPLOAD_DIR = DATA_DIR / "uploads"
BROKER_DIR = DATA_DIR / "broker"
KERNEL_DIR = DATA_DIR / "kernels"
CERTIFICATE_DIR = DATA_DIR / "certificates"
STATIC_ROOT = DATA_DIR / "static"
# The folder holds the key, the accounts and everything a team wrote down: for its owner alone.
DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
for folder in (UPLOAD_DIR, BROKER_DIR, KERNEL_DIR, STATIC_ROOT):
    folder.mkdir(mode=0o700, exist_ok=True)
# Compiled kernels are kept, so that a second start is quick. Set before anything imports Numba.
os.environ.setdefault("NUMBA_CACHE_DIR", str(KERNEL_DIR))
# The one layer that works in the forked processes of a Celery pool.
os.environ.setdefault("NUMBA_THREADING_LAYER", "workqueue")

# Who may ask --------------------------------------------------------------------------------------
DEBUG = env.boolean("BURNLINE_DEBUG")
SECRET_KEY = env.secret("BURNLINE_SECRET_KEY") or read_or_make_secret_key(DATA_DIR / "secret-key")
ALLOWED_HOSTS = env.words("BURNLINE_HOSTS", ("localhost", "127.0.0.1", "[::1]"))
CSRF_TRUSTED_ORIGINS = env.words("BURNLINE_ORIGINS")
TLS = env.boolean("BURNLINE_TLS")
SESSION_COOKIE_NAME = "burnline_session"
SESSION_COOKIE_SECURE = TLS
SESSION_COOKIE_AGE = 30 * 24 * 3600
CSRF_COOKIE_SECURE = TLS
# Off by default: with a certificate of one's own it would bar the way to the page that explains it.
SECURE_HSTS_SECONDS = env.whole_number("BURNLINE_HSTS_SECONDS", 0, low=0, high=63_072_000)
SECURE_SSL_REDIRECT = False
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
if env.boolean("BURNLINE_BEHIND_PROXY"):
    # Only behind a proxy that always sets this header itself.
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
AUTH_USER_MODEL = "arsenal.Person"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "desk"
LOGOUT_REDIRECT_URL = "sign-in"

# What runs ----------------------------------------------------------------------------------------
INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "rest_framework",
    "drf_spectacular",
    "config",
    "arsenal",
    "patterns",
    "sessions",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "config.security.SecurityHeadersMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "arsenal.middleware.CurrentTeamMiddleware",
]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
WEB_PROCESSES = env.whole_number("BURNLINE_WEB_PROCESSES", 2, low=1, high=64)
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
                "arsenal.context.current_team",
            ]
        },
    }
]
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.SessionAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_PARSER_CLASSES": ["arsenal.api_parser.StorableJSONParser"],
    # JSON alone: the browsable pages run script from within the page, which the content policy forbids.
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_PAGINATION_CLASS": "rest_framework.pagination.LimitOffsetPagination",
    "PAGE_SIZE": 50,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Burnline",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    # Several things have a "kind"; in the schema each keeps the name of what it is a kind of.
    "ENUM_NAME_OVERRIDES": {
        "ReleaseKindEnum": "arsenal.models.bowler.ReleaseKind",
        "SurfaceKindEnum": "arsenal.models.surface.SurfaceKind",
        "WindowKindEnum": "arsenal.models.surface.WindowKind",
        "PracticeKindEnum": "sessions.models.game.PracticeWindow.Kind",
    },
}

# What is kept -------------------------------------------------------------------------------------
database_url = env.secret("BURNLINE_DATABASE_URL")
database_password = env.secret("BURNLINE_DATABASE_PASSWORD")
DATABASES: dict[str, dict[str, Any]] = {
    "default": (
        database_from_url(database_url, "BURNLINE_DATABASE_URL")
        if database_url
        else sqlite(DATA_DIR / "burnline.sqlite3")
    )
}
if database_password:
    # Apart from the address, so that it can come from a file.
    DATABASES["default"]["PASSWORD"] = database_password
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
MEDIA_ROOT = UPLOAD_DIR
# The largest sheet that may be typed: 60 rows of 20 distances, their heads, and 40 passes of 6 fields.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2000
STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "django.contrib.staticfiles.storage.StaticFilesStorage"
            if DEBUG
            else "whitenoise.storage.CompressedManifestStaticFilesStorage"
        )
    },
}
WHITENOISE_USE_FINDERS = DEBUG

# Words and times ----------------------------------------------------------------------------------
LANGUAGE_CODE = "en"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

# Work in the background ---------------------------------------------------------------------------
# What is owed is a row; a message only wakes a worker, so losing one costs seconds (the sweep).
CELERY_BROKER_URL = env.secret("BURNLINE_BROKER_URL", "filesystem://localhost")
TASK_SECONDS = env.whole_number("BURNLINE_TASK_SECONDS", 120, low=10, high=3600)
if CELERY_BROKER_URL.startswith("filesystem:"):
    CELERY_BROKER_TRANSPORT = "config.broker:Transport"
    CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, Any] = {
        "data_folder_in": str(BROKER_DIR),
        "data_folder_out": str(BROKER_DIR),
        "control_folder": str(BROKER_DIR),
        "polling_interval": 0.05,
    }
else:
    CELERY_BROKER_TRANSPORT_OPTIONS = {
        # A message not acknowledged for this long goes to another worker. The lease on the row keeps a
        # task that is merely slow from running twice.
        "visibility_timeout": TASK_SECONDS + 30,
        "unacked_restore_interval": 10,
        "unacked_restore_throttle": 10,
        "socket_connect_timeout": 2,
        "socket_timeout": 10,
    }
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TASK_DEFAULT_QUEUE = "burnline"
# The sweep has a queue of its own, or it would stand behind all the work it is there to watch.
CELERY_TASK_ROUTES = {"sessions.tasks.sweep_owed": {"queue": "burnline-sweep"}}
# A request must not wait for a broker that is away: the row is there, and the sweep will send it.
CELERY_TASK_PUBLISH_RETRY = False
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_TIME_LIMIT = TASK_SECONDS
CELERY_TASK_SOFT_TIME_LIMIT = TASK_SECONDS - 5
CELERY_WORKER_CONCURRENCY = env.whole_number("BURNLINE_WORKER_PROCESSES", 2, low=1, high=64)
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
# Threads of the motion engine in each process: together the workers use each core once.
ENGINE_THREADS = env.whole_number(
    "BURNLINE_ENGINE_THREADS", max(1, cores() // CELERY_WORKER_CONCURRENCY), low=1, high=256
)
CELERY_WORKER_MAX_TASKS_PER_CHILD = 1000
CELERY_WORKER_ENABLE_REMOTE_CONTROL = False
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_TIMEZONE = "UTC"
# Nothing to remember between runs: everything is "every few seconds".
CELERY_BEAT_SCHEDULER = "celery.beat:Scheduler"
CELERY_BEAT_SCHEDULE = {
    # Sends again what is owed, and thereby shows that scheduler, broker and worker are alive.
    "sweep-owed": {
        "task": "sessions.tasks.sweep_owed",
        "schedule": 5.0,
        # A worker that was away need not sweep once for every time it missed.
        "options": {"expires": 15},
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    # One line for every sweep would bury the rest.
    "loggers": {
        name: {"level": "WARNING"} for name in ("celery.beat", "celery.app.trace", "celery.worker.strategy")
    },
    "root": {
        "handlers": ["console"],
        "level": env.choice("BURNLINE_LOG_LEVEL", "INFO", ("DEBUG", "INFO", "WARNING", "ERROR")),
    },
}

# The names read above, so that a misspelt one in the environment can be pointed out.
ENVIRONMENT_NAMES = frozenset(env.known)
