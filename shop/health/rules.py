"""Which settings are unsafe, when the workshop is ready, and figures as text for a machine. Pure."""

import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta

OVERDUE = timedelta(minutes=15)  # a letter that nobody has tried for so long after it was due is stuck
FRESH = timedelta(minutes=5)  # beat asks a worker for a sign of life every minute
DURABLE = {"journal_mode=DELETE", "synchronous=EXTRA"}
LOOPBACK = re.compile(r"https?://(127\.[\d.]+|\[::1\]|localhost)(:\d+)?")


@dataclass(frozen=True)
class Given:
    """The settings that may be unsafe together."""

    base_url: str = "http://127.0.0.1:8710"
    https: bool = False
    debug: bool = False
    secret_key: str = "0123456789" * 5
    sqlite: bool = True
    pragmas: str = "journal_mode=DELETE synchronous=EXTRA"
    web_processes: int = 1
    redis: bool = False
    smtp: bool = False
    mail_from: str = "workshop@aldermouth.example"
    failpoint: bool = False
    trial: bool = False

    @property
    def public(self) -> bool:
        """Whether people come from other machines."""
        return not LOOPBACK.fullmatch(self.base_url)

    @property
    def secure(self) -> bool:
        """Whether they come by HTTPS."""
        return self.base_url.startswith("https://")


@dataclass(frozen=True)
class Unsafe:
    """Something that must not be started with, and what to do about it."""

    code: str
    sentence: str
    hint: str


# Each holds when the settings are unsafe in its way.
UNSAFE: list[tuple[Callable[[Given], bool], Unsafe]] = [
    (
        lambda given: given.debug and given.public,
        Unsafe("E001", "DEBUG is on at a public address.", "Set DEBUG = False."),
    ),
    (
        lambda given: len(given.secret_key) < 50 or len({*given.secret_key}) < 10,
        Unsafe(
            "E002",
            "The secret key is too short or too plain to sign sessions and links.",
            "Leave EBBWRIGHT_SECRET_KEY empty: one is made in the data folder; or give 50 random signs or more.",
        ),
    ),
    (
        lambda given: given.public and not given.secure,
        Unsafe(
            "E003",
            "EBBWRIGHT_BASE_URL is a public address without HTTPS: passwords would cross the network in clear.",
            "Put a proxy that speaks HTTPS in front (deploy/nginx.conf) and give its https:// address.",
        ),
    ),
    (
        lambda given: given.secure and not given.https,
        Unsafe(
            "E004",
            "EBBWRIGHT_BASE_URL is https:// but EBBWRIGHT_HTTPS is not 1: cookies would go out in clear, and "
            "everybody would count as the proxy when wrong passwords are counted.",
            "Set EBBWRIGHT_HTTPS=1 behind one proxy that sets X-Forwarded-Proto and X-Forwarded-For.",
        ),
    ),
    (
        lambda given: given.https and not given.secure,
        Unsafe(
            "E005",
            "EBBWRIGHT_HTTPS is 1 but EBBWRIGHT_BASE_URL is not https://: headers of a proxy that is not there "
            "would be believed.",
            "Give the https:// address, or set EBBWRIGHT_HTTPS=0.",
        ),
    ),
    (
        lambda given: given.smtp and not given.public,
        Unsafe(
            "E006",
            "Letters go out by SMTP, but the links in them would lead to the reader's own machine.",
            "Set EBBWRIGHT_BASE_URL to the address that people use.",
        ),
    ),
    (
        lambda given: given.smtp and given.mail_from.endswith(".example"),
        Unsafe(
            "E007",
            "Letters go out by SMTP from an address that does not exist.",
            "Set EBBWRIGHT_MAIL_FROM to an address of the workshop that is read.",
        ),
    ),
    (
        lambda given: given.sqlite and given.web_processes > 1,
        Unsafe(
            "E008",
            "SQLite lets one writer in at a time: it is not for more than one web process.",
            "Set WEB_CONCURRENCY=1, or EBBWRIGHT_DATABASE_URL to a PostgreSQL.",
        ),
    ),
    (
        lambda given: given.sqlite and DURABLE - {*given.pragmas.split()} != set(),
        Unsafe(
            "E009",
            "SQLite would not keep what was acknowledged when the power fails.",
            "Keep journal_mode=DELETE and synchronous=EXTRA; WAL has a fault in many versions of SQLite.",
        ),
    ),
    (
        lambda given: not given.sqlite and not given.redis,
        Unsafe(
            "E010",
            "On PostgreSQL the workers need Redis to be woken: folders reach one machine's only.",
            "Set EBBWRIGHT_REDIS_URL.",
        ),
    ),
    (
        lambda given: given.failpoint and not given.trial,
        Unsafe(
            "E012",
            "EBBWRIGHT_FAILPOINT would kill this workshop's processes in the midst of their work.",
            "Leave it empty; or say with EBBWRIGHT_TRIAL=1 that nothing here is anybody's real work.",
        ),
    ),
]


def unsafe(given: Given) -> list[Unsafe]:
    """Everything unsafe about the settings; no secret is repeated."""
    return [found for holds, found in UNSAFE if holds(given)]


def unsafe_engine(found: Mapping[str, str]) -> list[Unsafe]:
    """Which settings that the database itself names would lose what was acknowledged."""
    wrong = {
        "journal_mode": ("wal", "off"),
        "synchronous": ("0", "1", "2"),
        "fsync": ("off",),
        "full_page_writes": ("off",),
        "synchronous_commit": ("off",),
    }
    return [
        Unsafe(
            "E011",
            f"The database runs with {name}={value}: what was acknowledged may be lost.",
            "Close every other program that has the database open, or set it back in the server's settings.",
        )
        for name, value in found.items()
        if value in wrong.get(name, ())
    ]


@dataclass(frozen=True)
class State:
    """What readiness asks; without a database nothing else is known."""

    database: bool = True
    migrations: bool = True
    outbox: bool = True
    heartbeat: bool = True


def not_ready(state: State) -> list[str]:
    """What is wrong, a sentence each."""
    if not state.database:
        return ["The database does not answer."]
    said = [
        (state.migrations, "Migrations wait: run manage.py migrate."),
        (state.outbox, f"A letter has waited {OVERDUE.seconds // 60} minutes longer than it should."),
        (state.heartbeat, f"No worker has shown that it works for {FRESH.seconds // 60} minutes."),
    ]
    return [sentence for well, sentence in said if not well]


@dataclass(frozen=True)
class Figure:
    """One measured thing: what it means, and its value, or one for each value of a label."""

    name: str
    means: str
    value: float | None = None
    label: str = ""
    values: Mapping[str, float] = field(default_factory=dict)


def exposition(figures: Iterable[Figure]) -> str:
    """Figures in the Prometheus text exposition format 0.0.4; one without a value is left out."""
    lines = []
    for each in figures:
        name = f"ebbwright_{each.name}"
        alone = [] if each.value is None else [(name, each.value)]
        samples = alone + [
            (f"{name}{{{each.label}={json.dumps(key, ensure_ascii=False)}}}", value)
            for key, value in each.values.items()
        ]
        if samples:
            lines += [f"# HELP {name} {each.means}", f"# TYPE {name} gauge"]
            lines += [
                f"{sample} {value:g}" if value < 1e6 else f"{sample} {value:.0f}" for sample, value in samples
            ]
    return "\n".join(lines) + "\n"
