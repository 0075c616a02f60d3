"""The time, the workshop's own row, and rows in plain SQL. `now` and `today` are the only source of either time."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime, time
from functools import cache
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import TZPATH, ZoneInfo

from django.db import connection

from shop.workshop.models import Workshop

_set: ContextVar[datetime | None] = ContextVar("set_time", default=None)


def now() -> datetime:
    """The present instant in UTC, or the one that `at` has set."""
    return _set.get() or datetime.now(UTC)


def today() -> date:
    """The present date in the workshop's zone."""
    return local_day(now())


def local_day(instant: datetime) -> date:
    """The date of an instant in the workshop's zone."""
    return instant.astimezone(zone()).date()


def noon(day: date) -> datetime:
    """Noon of a day in the workshop's zone: the instant that stands for the whole day in `--on`."""
    return datetime.combine(day, time(12), tzinfo=zone())


@contextmanager
def at(instant: datetime) -> Iterator[None]:
    """Set the time for a test, the demo, an import or `--on`; doors never do."""
    token = _set.set(instant)
    try:
        yield
    finally:
        _set.reset(token)


def workshop() -> Workshop | None:
    """The workshop's row, or None before it is opened."""
    return Workshop.objects.first()


def zone() -> ZoneInfo:
    """The zone in which the workshop's days begin; UTC before it is opened."""
    rows = columns("SELECT zone FROM workshop_workshop")
    return ZoneInfo(rows[0][0] if rows else "UTC")


def country() -> str:
    """The ISO 3166-1 alpha-2 code of the country in whose zone the workshop lies; empty where its zone names none."""
    return _countries().get(zone().key, "")


@cache
def _countries() -> dict[str, str]:
    """Of each zone that lies in one country, its code: `zone.tab` of the IANA time zone database, which comes with the zones."""
    tables = [path for place in TZPATH if (path := Path(place, "zone.tab")).is_file()]
    lines = tables[0].read_text(encoding="utf-8").splitlines() if tables else []
    rows = [line.split("\t") for line in lines if line and not line.startswith("#")]
    return {row[2]: row[0] for row in rows}


def currency() -> str:
    """The ISO 4217 code the workshop charges in; EUR before it is opened."""
    rows = columns("SELECT currency FROM workshop_workshop")
    return rows[0][0] if rows else "EUR"


def language() -> str:
    """The language of letters to whoever said none; English before the workshop is opened."""
    rows = columns("SELECT language FROM workshop_workshop")
    return rows[0][0] if rows else "en"


def columns(sql: str, *given: Any) -> list[tuple[Any, ...]]:
    """The rows of a statement in plain SQL, for lists where the ORM would take longer than the database.

    What is asked of many keys says `= ANY(%s)` and is given a list, on both engines.
    """
    asked: list[Any] = list(given)
    if connection.vendor == "sqlite":
        sql = sql.replace("= ANY(%s)", "IN (SELECT value FROM json_each(%s))")
        asked = [json.dumps(each, default=_kept) if isinstance(each, list) else each for each in asked]
    with connection.cursor() as cursor:
        cursor.execute(sql, asked)
        found: list[tuple[Any, ...]] = cursor.fetchall()
    return found


def _kept(uid: UUID) -> str:
    return uid.hex


def uid(kept: UUID | str) -> UUID:
    """A uid among `columns`; SQLite keeps it as text."""
    return kept if isinstance(kept, UUID) else UUID(kept)


def instant(kept: datetime) -> datetime:
    """An instant among `columns`; SQLite keeps it in UTC and does not say so."""
    return kept.replace(tzinfo=UTC) if kept.tzinfo is None else kept
