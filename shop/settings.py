"""Settings of the one Django project; the environment chooses the engines (README.md lists the names)."""

import os
import tomllib
from pathlib import Path
from urllib.parse import urlsplit

from csp.constants import NONE, SELF

from shop.environment import (
    address,
    data_folder,
    database,
    fail_point,
    flag,
    folder,
    mail_server,
    secret_key,
    text,
    webhook_secret,
)

ROOT = Path(__file__).resolve().parent.parent
VERSION = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]

DATA = data_folder(Path(text("DATA") or ROOT / ".data"))
os.umask(0o077)  # what is kept about customers is for the owner of the data folder alone
SECRET_KEY = secret_key(DATA)
DEBUG = False
HTTPS = flag("HTTPS")
BASE_URL = text("BASE_URL", "http://127.0.0.1:8710").rstrip("/")
ALLOWED_HOSTS = [urlsplit(BASE_URL).hostname or "127.0.0.1", "127.0.0.1", "localhost"]
CSRF_TRUSTED_ORIGINS = [BASE_URL]
WEB_PROCESSES = int(os.environ.get("WEB_CONCURRENCY") or 1)  # gunicorn reads this name itself

INSTALLED_APPS = [
    "django.contrib.auth", "django.contrib.contenttypes", "django.contrib.sessions", "django.contrib.messages",
    "django.contrib.staticfiles", "rest_framework", "knox", "drf_spectacular", "csp", "allauth", "allauth.account",
    "allauth.mfa", "allauth.usersessions",
    "shop.workshop",
    "shop.journal",
    "shop.files",
    "shop.backup",
    "shop.post",
    "shop.api",
    "shop.web",
    "shop.paper",
    "shop.sheets",
    "shop.staff",
    "shop.search",
    "shop.invitations",
    "shop.signing",
    "shop.signin",
    "shop.you",
    "shop.help",
    "shop.customers",
    "shop.outbox",
    "shop.wording",
    "shop.links",
    "shop.catalogue",
    "shop.drafts",
    "shop.advice",
    "shop.gases",
    "shop.money",
    "shop.intervals",
    "shop.gear",
    "shop.sets",
    "shop.instruments",
    "shop.stock",
    "shop.counts",
    "shop.alternatives",
    "shop.sites",
    "shop.suppliers",
    "shop.orders",
    "shop.value",
    "shop.clocks",
    "shop.due",
    "shop.health",
    "jobs.flow",
    "jobs.worksheet",
    "jobs.tray",
    "jobs.bench",
    "jobs.planning",
    "jobs.estimates",
    "jobs.terms",
    "jobs.condition",
    "jobs.advance",
    "jobs.live",
    "jobs.traces",
    "jobs.records",
    "jobs.notices",
    "jobs.safety",
    "jobs.matches",
    "jobs.lending",
    "jobs.bookings",
    "jobs.answers",
    "jobs.checkin",
    "jobs.signoff",
    "jobs.handback",
    "jobs.bills",
    "jobs.books",
    "jobs.reminders",
    "jobs.porthole",
    "jobs.quotes",
    "jobs.counter",
    "jobs.evidence",
    "jobs.queue",
    "jobs.ahead",
    "jobs.demand",
    "jobs.demo",
    "jobs.takeout",
    "jobs.batches",
    "jobs.bringin",
    "jobs.whose",
    "jobs.rights",
    "jobs.speed",
]  # fmt: skip

MIDDLEWARE = [
    "shop.web.pages.Headers",
    "csp.middleware.CSPMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "shop.you.pages.Tries",
]
ROOT_URLCONF, WSGI_APPLICATION = "shop.urls", "shop.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shop.web.pages.house",
            ],
            "builtins": ["shop.web.templatetags.amounts", "shop.words.templatetags.words"],
        },
    }
]


DATABASES = {"default": database(DATA)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
# What higher rooms add to pages of lower ones: slot -> reads that give (template, context).
PANELS = {
    "customer": [
        "shop.outbox.reads.customer_panel",
        "jobs.flow.reads.customer_panel",
        "shop.gear.reads.customer_panel",
        "shop.sets.reads.customer_panel",
        "jobs.bookings.reads.customer_panel",
        "jobs.answers.reads.customer_panel",
        "shop.links.reads.customer_panel",
    ],
    "item": [
        "jobs.matches.reads.item_panel",
        "shop.clocks.reads.item_panel",
        "jobs.lending.reads.item_panel",
        "shop.sets.reads.item_panel",
        "jobs.flow.reads.item_panel",
        "jobs.tray.reads.item_panel",
        "jobs.notices.reads.item_panel",
        "jobs.signoff.reads.item_panel",
    ],
    "job": ["jobs.matches.reads.job_panel"],
    "drop_off_first": ["jobs.matches.reads.drop_off_panel", "jobs.evidence.reads.drop_off_panel"],
    "drop_off": [
        "jobs.condition.reads.drop_off_panel",
        "jobs.quotes.reads.drop_off_panel",
        "jobs.porthole.reads.drop_off_panel",
    ],
    "hand_back": ["jobs.bills.reads.hand_back_panel"],
    "porthole": ["jobs.quotes.reads.porthole_panel"],
    "porthole_after": ["jobs.condition.reads.porthole_panel"],  # below where the gear is
    "part": ["shop.sites.reads.part_panel", "shop.alternatives.reads.part_panel"],
    "lot": ["jobs.notices.reads.lot_panel", "jobs.matches.reads.lot_panel", "jobs.tray.reads.lot_panel"],
    "plan": ["shop.drafts.reads.plan_panel"],
    "office": [
        "jobs.notices.reads.office_panel",
        "jobs.safety.reads.office_panel",
        "jobs.evidence.reads.office_panel",
        "jobs.batches.reads.office_panel",
        "shop.wording.reads.office_panel",
        "jobs.rights.reads.office_panel",
        "jobs.terms.reads.office_panel",
        "jobs.condition.reads.office_panel",
    ],
    "find": ["shop.customers.reads.find_panel"],
    "tests": ["jobs.live.reads.tests_panel"],
}
# What the find box finds: reads that give every row and what is found of each; only `find_again` asks them.
FINDABLE = [
    "shop.customers.reads.findable",
    "shop.gear.reads.findable",
    "shop.instruments.reads.findable",
    *(f"shop.stock.reads.findable_{each}" for each in ("parts", "lots", "bins")),
    "shop.orders.reads.findable_orders",
    "jobs.flow.reads.findable_drop_offs",
    "jobs.flow.reads.findable_lines",
    "jobs.flow.reads.findable_jobs",
]
# What higher rooms do once work was recorded on a job, in the same transaction.
AFTER_RECORDING = ["jobs.notices.actions.take_in"]
# What of higher rooms keeps lots from being taken: reads that give refusals, by part and number of the lot.
BLOCKS_LOTS = ["jobs.notices.reads.lot_blocks", "jobs.matches.reads.lot_blocks"]
# What of higher rooms speaks for parts in store: reads that give claims.
SPEAKS_FOR_PARTS = ["jobs.queue.reads.claims", "jobs.bookings.reads.claims"]
# What higher rooms do once items were added or changed, or a lot was received, in the same transaction.
AFTER_GEAR = ["shop.clocks.actions.reckon_items", "jobs.safety.actions.look_at_items"]
AFTER_RECEIVING = ["jobs.safety.actions.look_at_lot"]
# What higher rooms do once an instrument was found bad, a supplier or a customer's address changed, likewise.
AFTER_FOUND_BAD = ["jobs.notices.actions.found_bad"]
AFTER_SUPPLIER_CHANGED = ["shop.orders.actions.find_again"]
AFTER_ADDRESS_CHANGED = ["shop.links.actions.end_links"]
# What writes the customer a private link at check-in, where that is asked for.
WRITES_LINK = "jobs.porthole.actions.write_link"
# Figures of higher rooms for a machine that watches.
FIGURES = ["jobs.flow.reads.figures"]
# The chains that belong to a row beside its own: kind -> reads that give subjects of the journal.
HISTORIES = {
    "customer": [f"{room}.reads.customer_subjects" for room in ("shop.gear", "jobs.flow", "jobs.batches")],
    "item": ["jobs.flow.reads.item_subjects", "jobs.batches.reads.item_subjects"],
}
# Models whose rows the journal names by uid and histories by number or name.
NAMED = [
    "staff.Person", "customers.Customer", "catalogue.Model", "catalogue.PlanVersion", "gear.Item",
    "instruments.Instrument", "stock.Lot", "stock.Bin", "flow.DropOff", "flow.Line", "flow.Job", "safety.Notice",
]  # fmt: skip
# Tables that triggers hold append-only on both engines; `check --database default` looks for the triggers.
APPEND_ONLY = [
    "journal_entry", "files_file", "files_photograph", "files_spot", "files_document", "catalogue_planversion", "catalogue_withdrawal",
    "instruments_calibration", "instruments_check", "instruments_badperiod", "stock_movement", "counts_line", "orders_line",
    "orders_receipt", "clocks_restart", "clocks_takenback", "clocks_tally", "flow_move", "flow_custody", "worksheet_stepdone",
    "tray_traypart", "bench_attempt", "live_chunk", "planning_takeover", "estimates_goahead", "bills_bill", "bills_payment",
    "money_taxrate", "notices_doubt", "notices_affected", "notices_answer", "signoff_signoff", "signoff_twin",
    "handback_handback", "handback_asked", "handback_disposal", "answers_answer", "answers_settled", "safety_notice",
    "safety_withdrawal", "safety_match", "matches_answer", "evidence_evidence", "evidence_evidencecustody",
    "terms_terms", "terms_accepted", "condition_conditionlist", "condition_look", "condition_answer",
]  # fmt: skip
# The other triggers that must stand: table and name.
OTHER_TRIGGERS = [
    ("stock_movement", "stock_movement_counts"), ("stock_lot", "stock_lot_sum"), ("stock_lot", "stock_lot_begins"),
    ("stock_stored", "stock_stored_sum"), ("stock_stored", "stock_stored_begins"),
]  # fmt: skip
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):  # PostgreSQL keeps its trigram index by itself
    OTHER_TRIGGERS += [
        ("search_findable", f"search_findable_{verb}") for verb in ("added", "changed", "taken_away")
    ]

AUTH_USER_MODEL = "staff.Person"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
# Shared by all processes, or a code could be replayed; beyond 300 entries Django would forget who has tried how often.
_KEPT = {"LOCATION": "signin_kept", "OPTIONS": {"MAX_ENTRIES": 50_000}}
CACHES = {"default": {"BACKEND": "django.core.cache.backends.db.DatabaseCache", **_KEPT}}
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 15},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
PASSWORD_HASHERS = [f"django.contrib.auth.hashers.{name}PasswordHasher" for name in ("Argon2", "PBKDF2")]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "front"
SESSION_COOKIE_AGE = 12 * 3600
# The sign-in library: an address and a password, no user names, no signing up (shop.signin.actions.Adapter).
ACCOUNT_ADAPTER = "shop.signin.actions.Adapter"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_RATE_LIMITS = {  # beside the library's own limits
    "login_failed": "10/m/ip,50/15m/ip,5/5m/key,10/15m/key",
    "reset_password": "10/m/ip,3/h/key",
    "check_record": "30/m/ip",
    "private_link": "60/m/ip",
    "private_picture": "300/m/ip",  # a page shows many
    "private_proof": "10/m/ip",  # each may bring a photograph, a PDF or a question, which is kept
    "one_click": "600/m/ip",  # mail programs of many readers post from few addresses
}
ALLAUTH_TRUSTED_PROXY_COUNT = 1 if HTTPS else 0
MFA_ADAPTER = "shop.signin.reads.SecondFactor"
MFA_SUPPORTED_TYPES = ["totp", "recovery_codes"]
MFA_TOTP_ISSUER = "Ebbwright"
# A used code is remembered for 30 s: with a tolerance it would be good for longer than that, and could be replayed.
MFA_TOTP_TOLERANCE = 0
MFA_ALLOW_UNVERIFIED_EMAIL = True  # whoever is here was invited by letter or taken on by the lead
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SESSION_COOKIE_NAME = "__Host-session" if HTTPS else "session"
CSRF_COOKIE_NAME = "__Host-csrf" if HTTPS else "csrf"
CSRF_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "shop.web.pages.forged"
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_SSL_REDIRECT = HTTPS
SECURE_REDIRECT_EXEMPT = [r"^health/"]  # a supervisor on this machine asks without the proxy
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "style-src": [SELF],
        "script-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "object-src": [NONE],
        "frame-ancestors": [NONE],
    }
}
DATA_UPLOAD_MAX_MEMORY_SIZE = FILE_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024

LANGUAGE_CODE = "en"
USE_I18N, USE_TZ = False, True
TIME_ZONE = "UTC"
STATIC_URL = "/static/"
WHITENOISE_USE_FINDERS = True

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "shop.staff.reads.ScopedTokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["shop.api.shapes.StrictJSON"],
    "DEFAULT_SCHEMA_CLASS": "shop.staff.api.Described",
    "EXCEPTION_HANDLER": "shop.api.api.problem",
    "NUM_PROXIES": 0,
    "UNICODE_JSON": True,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Ebbwright",
    "VERSION": "1",
    "OAS_VERSION": "3.1.1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    # Without the library's own hook, so that choices stand where they are used and not under made-up names.
    "POSTPROCESSING_HOOKS": ["shop.api.rules.engine_free"],
}
REST_KNOX = {
    "TOKEN_MODEL": "staff.Token",
    "TOKEN_TTL": None,  # each token is given its own last day when it is made
    "AUTO_REFRESH": False,
}
# Our own model stands in for knox's; without this its empty table would stand beside ours and block a flush.
MIGRATION_MODULES = {"knox": None}
KNOX_TOKEN_MODEL = "staff.Token"  # noqa: S105 - the name of a model, not a secret

SMTP = mail_server()
MAIL_FROM = text("MAIL_FROM", "workshop@aldermouth.example")
LETTERS = DATA / "letters"
BOUNCES, BOUNCES_SECRET = folder("BOUNCES"), webhook_secret("BOUNCES_SECRET")
FILES = DATA / "files"  # photographs, each under its SHA-256; not below any folder that is served
SIGNING_KEYS = DATA / "signing-keys"  # the private halves, each under its key's name; in no backup

TRIAL, FAILPOINT = flag("TRIAL"), fail_point()
REDIS = address("REDIS_URL", "redis", "rediss")
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {"()": "shop.web.apps.OneLine", "fmt": "%(asctime)s %(levelname)s %(name)s %(message)s"}
    },
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    # At DEBUG, Django's two tell all that stands in a page or goes to the database, seeds and hashes among it.
    "loggers": {
        each: {"level": "INFO"} for each in ("shop", "jobs", "django.template", "django.db.backends")
    },
}
