"""Settings: one file, safe by default, changed through the environment only."""

from datetime import timedelta
from importlib.util import find_spec
from pathlib import Path

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from .environment import env, number, one_of, secret_key, switch
from .server_database import pooled, replica_of

BASE_DIR = Path(__file__).resolve().parent.parent
LOOPBACK = ["127.0.0.1", "localhost", "[::1]"]

# Where things are kept
DATA_DIR = Path(env.str("TROCHLEA_DATA", default=str(BASE_DIR / ".data"))).resolve()
if not env.str("DATABASE_URL", default=""):
    DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
SECRET_KEY = secret_key(DATA_DIR)

# Backups are sealed for these public keys; the secret half is the clinic's to keep.
BACKUP_PUBLIC_KEYS = env.list("TROCHLEA_BACKUP_KEY", default=[])

# Who can reach it: loopback only, until hosts are named
ALLOWED_HOSTS = env.list("TROCHLEA_HOSTS", default=LOOPBACK)
IS_LOOPBACK_ONLY = set(ALLOWED_HOSTS) <= set(LOOPBACK)
HTTPS = switch("TROCHLEA_HTTPS", default=not IS_LOOPBACK_ONLY)
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS] if HTTPS else []
DEBUG = False

# The applications, lowest first
INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "csp",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "clinic.apps.ClinicConfig",
    "programs.apps.ProgramsConfig",
    "outcomes.apps.OutcomesConfig",
]
MIDDLEWARE = [
    "clinic.middleware.RequestId",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "clinic.middleware.Watched",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "clinic.middleware.SignInRequired",
    "clinic.middleware.NoStore",
    "clinic.middleware.OnRecord",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "clinic.urls"
WSGI_APPLICATION = "clinic.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "clinic.context.page_frame",
            ],
            "builtins": [
                "clinic.templatetags.clinic_format",
                "outcomes.templatetags.outcome_words",
            ],
        },
    },
]

# The database: an embedded SQLite file, or PostgreSQL through DATABASE_URL
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": (
        "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;PRAGMA foreign_keys=ON;"
        "PRAGMA mmap_size=134217728;PRAGMA journal_size_limit=27103364;"
        "PRAGMA cache_size=-20000;"
    ),
}
DATABASES = {
    "default": env.db(
        "DATABASE_URL", default=f"sqlite:///{DATA_DIR / 'trochlea.sqlite3'}"
    )
}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS
    DATABASES["default"]["CONN_MAX_AGE"] = 600
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
else:
    # Connections for each web process, and limits in seconds: project assumptions.
    DATABASES["default"] = pooled(
        DATABASES["default"],
        smallest=number("TROCHLEA_POOL_MIN", least=1, default=1),
        largest=number("TROCHLEA_POOL_MAX", least=1, default=8),
        limits={
            "statement_timeout": number("TROCHLEA_STATEMENT_SECONDS", default=30),
            "lock_timeout": number("TROCHLEA_LOCK_SECONDS", default=10),
            # An export is read in one transaction while it travels.
            "idle_in_transaction_session_timeout": number(
                "TROCHLEA_IDLE_SECONDS", default=300
            ),
        },
    )
# A streaming replica of that server, for the review pages alone.
REPLICA_LAG_SECONDS = number("TROCHLEA_REPLICA_LAG_SECONDS", default=30)
if env.str("DATABASE_REPLICA_URL", default=""):
    if not DATABASES["default"]["ENGINE"].endswith("postgresql"):
        raise ImproperlyConfigured("DATABASE_REPLICA_URL needs DATABASE_URL beside it.")
    DATABASES["replica"] = replica_of(
        DATABASES["default"], env.db("DATABASE_REPLICA_URL")
    )
    DATABASE_ROUTERS = ["clinic.replica.ReplicaRouter"]
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# People and sessions
AUTH_USER_MODEL = "clinic.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "outcomes:caseload"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
PASSWORD_RESET_TIMEOUT = 3 * 24 * 3600  # a one-time sign-in lasts three days
# 15 characters where the passphrase is the sole factor: NIST SP 800-63B rev. 4.
PASSWORD_MINIMUM = 15
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": PASSWORD_MINIMUM},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {
        "NAME": "django.contrib.auth.password_validation."
        "UserAttributeSimilarityValidator"
    },
    {"NAME": "clinic.passphrases.RepetitionValidator"},
    {"NAME": "clinic.passphrases.SiteNameValidator"},
]
# A shared tablet: 15 minutes idle, 12 hours overall; stricter than NIST SP 800-63B.
SESSION_COOKIE_AGE = 15 * 60
SESSION_SAVE_EVERY_REQUEST = True
SESSION_ABSOLUTE_SECONDS = 12 * 3600
SESSION_EXPIRE_AT_BROWSER_CLOSE = True
# WCAG 2.2 criterion 2.2.1 asks for 20 seconds at least; two minutes are a project
# assumption.
SESSION_WARN_SECONDS = 2 * 60

# A pause after failed sign-ins; nobody is locked out for good. NIST SP 800-63B allows
# up to 100 failures in a row; five, thirty and fifteen minutes: project assumptions.
AXES_FAILURE_LIMIT = 5
SIGN_IN_FAILURES_PER_SOURCE = 30  # the tablets of a clinic often share one source
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = ["username", "ip_address"]
AXES_HANDLER = "clinic.throttling.TwoLimits"
AXES_USERNAME_CALLABLE = "clinic.throttling.account_key"
AXES_CLIENT_IP_CALLABLE = "clinic.throttling.source_of"
AXES_LOCKOUT_CALLABLE = "clinic.throttling.paused_answer"
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_DISABLE_ACCESS_LOG = True
AXES_ENABLE_ADMIN = AXES_VERBOSE = False
# What a form carried is of no use to a count of failures.
AXES_SENSITIVE_PARAMETERS = [
    "username",
    "ip_address",
    "held",
    "next",
    "code",
    "csrfmiddlewaretoken",
]
# Wrong codes are counted with wrong passphrases, not a second time by the device.
OTP_TOTP_THROTTLE_FACTOR = OTP_STATIC_THROTTLE_FACTOR = 0
OTP_TOTP_ISSUER = "Trochlea"

# What the browser is told
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SESSION_COOKIE_NAME = "__Host-session" if HTTPS else "session"
CSRF_COOKIE_NAME = "__Host-csrf" if HTTPS else "csrf"
CSRF_COOKIE_HTTPONLY = True
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 63072000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
# Whoever watches the process asks it directly, behind the proxy.
SECURE_REDIRECT_EXEMPT = [r"^health/$", r"^ready/$"]
SECURE_REFERRER_POLICY = "same-origin"
IS_BEHIND_PROXY = switch("TROCHLEA_BEHIND_PROXY", default=False)
if IS_BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        # plotly.js fills two <style> elements by script: an empty one and its map
        # styles. Their hashes; a browser test notices when a new version differs.
        "style-src": [
            SELF,
            "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='",
            "'sha256-ji27qzEtxXZW+7dun6UwjHXJ18e6WAin1VvNtkzIE/o='",
        ],
        "img-src": [SELF, "data:"],
        "connect-src": [SELF],
        "font-src": [SELF],
        "manifest-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "object-src": [NONE],
    }
}
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
CSRF_FAILURE_VIEW = "clinic.views.errors.stale_page"

# Static files: hashed for a real host, straight from source on loopback
STATIC_URL = "static/"
STATIC_ROOT = BASE_DIR / ".static"
# plotly.js comes from the installed package, found without importing it.
PLOTLY_JS_DIR = Path(find_spec("plotly").origin).parent / "package_data"  # type: ignore[union-attr,arg-type]
STATICFILES_DIRS = [BASE_DIR / "static", ("plotly", PLOTLY_JS_DIR)]
WHITENOISE_USE_FINDERS = IS_LOOPBACK_ONLY
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if IS_LOOPBACK_ONLY
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}

# Language and time
LANGUAGE_CODE = "en-gb"
TIME_ZONE = env.str("TROCHLEA_TIME_ZONE", default="UTC")
USE_TZ = True
USE_I18N = True

# Exports for an audit: whose law words them
JURISDICTION = one_of(
    "TROCHLEA_JURISDICTION",
    "united-states",
    "united-kingdom",
    "european-union",
    "elsewhere",
    default="elsewhere",
)

# Uploads: two spreadsheets, no more
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2000
FILE_UPLOAD_HANDLERS = ["django.core.files.uploadhandler.TemporaryFileUploadHandler"]
