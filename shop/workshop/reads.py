"""The time, and the workshop's own row. `now` and `today` are the only source of either."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

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
    row = workshop()
    return ZoneInfo(row.zone) if row else ZoneInfo("UTC")


def currency() -> str:
    """The ISO 4217 code the workshop charges in; EUR before it is opened."""
    row = workshop()
    return row.currency if row else "EUR"
