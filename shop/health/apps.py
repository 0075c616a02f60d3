"""The start-up checks that refuse unsafe settings, each with what to do instead."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core import checks
from django.core.exceptions import ImproperlyConfigured
from django.db import connection

from shop.health.rules import Given, Unsafe, unsafe, unsafe_engine


class HealthConfig(AppConfig):
    name = "shop.health"

    def ready(self) -> None:
        checks.register(settings_are_safe)
        checks.register(engine_is_safe, checks.Tags.database)


def given() -> Given:
    """What the settings say."""
    database = settings.DATABASES["default"]
    sqlite = database["ENGINE"].endswith("sqlite3")
    return Given(
        base_url=settings.BASE_URL,
        https=settings.HTTPS,
        debug=settings.DEBUG,
        secret_key=settings.SECRET_KEY,
        sqlite=sqlite,
        pragmas=database["OPTIONS"]["init_command"].replace(";", " ") if sqlite else "",
        web_processes=settings.WEB_PROCESSES,
        redis=settings.REDIS is not None,
        smtp=settings.SMTP is not None,
        mail_from=settings.MAIL_FROM,
        failpoint=settings.FAILPOINT is not None,
        trial=settings.TRIAL,
    )


def engine_settings() -> dict[str, str]:
    """What the database itself says of how it keeps what was acknowledged."""
    if connection.vendor == "sqlite":
        asked = {name: f"PRAGMA {name}" for name in ("journal_mode", "synchronous")}
    else:
        asked = {name: f"SHOW {name}" for name in ("fsync", "full_page_writes", "synchronous_commit")}
    found = {}
    with connection.cursor() as cursor:
        for name, sql in asked.items():
            cursor.execute(sql)
            found[name] = str(cursor.fetchone()[0])
    return found


def _errors(found: Iterable[Unsafe]) -> list[checks.CheckMessage]:
    return [checks.Error(each.sentence, hint=each.hint, id=f"health.{each.code}") for each in found]


def settings_are_safe(**_: Any) -> list[checks.CheckMessage]:
    """An error for each unsafe setting."""
    return _errors(unsafe(given()))


def engine_is_safe(*, databases: Sequence[str] | None = None, **_: Any) -> list[checks.CheckMessage]:
    """An error for each setting of the database by which an acknowledged change may be lost."""
    return _errors(unsafe_engine(engine_settings()) if databases else [])


def refuse_unsafe() -> None:
    """Stop a server that runs no checks of its own."""
    if found := unsafe(given()):
        raise ImproperlyConfigured(" ".join(f"{each.sentence} {each.hint}" for each in found))
