"""What is due, how many in each week to come, and the calendar of it."""

import hmac
from datetime import timedelta
from itertools import chain
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.db.models import Count, QuerySet
from django.urls import reverse
from django.utils.crypto import salted_hmac

from shop.clocks.models import Clock
from shop.clocks.reads import dated_by, unknown, with_elsewhere
from shop.due.rules import SHOWN, Event, Weeks, Whose, Within, calendar, weeks
from shop.instruments.models import Instrument
from shop.instruments.reads import instruments
from shop.workshop.reads import now, today, workshop

SINCE, AHEAD = timedelta(days=91), timedelta(days=366)  # what stands in the calendar
MOST_EVENTS = 2000


def due(within: str, kind: str = "", clock: str = "", whose: str = "") -> QuerySet[Clock]:
    """Clocks that are due within a time, of a kind of gear, an obligation and an owner where these are given."""
    asked = Within(within)
    rows = unknown() if asked is Within.UNKNOWN else dated_by(asked.last(today()))
    if kind:
        rows = rows.filter(item__model__kind=kind)
    if clock:
        rows = rows.filter(key=clock)
    if whose:
        rows = rows.filter(item__owner__ours=whose == Whose.OURS)
    return with_elsewhere(rows.select_related("interval"))


def calibrations_due(within: str, kind: str = "", clock: str = "", whose: str = "") -> list[Instrument]:
    """The workshop's own instruments to be calibrated within a time; those that are not good today count as due."""
    asked, day = Within(within), today()
    if kind or clock or whose == Whose.CUSTOMERS:
        return []
    rows = sorted(instruments(), key=lambda row: (row.calibrated_to or day, row.code))
    if asked is Within.UNKNOWN:
        return [row for row in rows if row.calibrated_to is None]
    last = asked.last(day)
    return [row for row in rows if row.calibrated_to and (row.calibrated_to <= last or row.fault_on(day))]


def obligations() -> list[tuple[str, str]]:
    """The obligations that there are: key and title."""
    rows = Clock.objects.order_by("key", "-pk").values_list("key", "title").distinct()
    return sorted(dict(rows).items(), key=lambda pair: pair[1])


def weeks_to_come(kind: str = "", clock: str = "", whose: str = "") -> Weeks:
    """How many fall due in each week, by the same filters."""
    day = today()
    rows = due(Within.HALF, kind, clock, whose).filter(due__lt=day + timedelta(weeks=SHOWN))
    counted = rows.order_by("due").values("due").annotate(n=Count("pk")).values_list("due", "n")
    return weeks({due_on: n for due_on, n in counted if due_on}, day)


def secret(feed: int) -> str:
    """The secret in the address of the calendar that counts now: nobody can reckon it without the key of this house."""
    return salted_hmac("shop.due.calendar", str(feed), algorithm="sha256").hexdigest()


def address() -> str:
    """The address of the calendar, or nothing while there is none."""
    row = workshop()
    if row is None or not row.feed:
        return ""
    return settings.BASE_URL + reverse("due_calendar", args=[secret(row.feed)])


def opens(given: str) -> bool:
    """Whether a secret is the one that counts now."""
    row = workshop()
    return bool(row and row.feed) and hmac.compare_digest(secret(row.feed if row else 0), given)


def due_calendar() -> str:
    """What is due, as a calendar: numbers of items and customers, nobody's name."""
    day, house = today(), workshop()
    rows = dated_by(day + AHEAD).filter(due__gte=day - SINCE).order_by("due", "pk")[:MOST_EVENTS]
    own = [row for row in instruments() if (to := row.calibrated_to) and day - SINCE <= to <= day + AHEAD]
    events = chain(map(_event, rows), map(_calibration, own))
    return calendar(f"Due at {house.name if house else 'the workshop'}", events, now())


def _calibration(instrument: Instrument) -> Event:
    day: Any = instrument.calibrated_to
    return Event(
        uid=f"{instrument.uid}@{urlsplit(settings.BASE_URL).hostname}",
        day=day,
        summary=f"Calibration: {instrument.code}",
        description=f"{instrument.name}: the last day of its calibration.",
        url=settings.BASE_URL + reverse("instrument", args=[instrument.uid]),
        sequence=len(instrument.calibrations.all()),
    )


def _event(clock: Clock) -> Event:
    item: Any = clock.item
    due_on: Any = clock.due
    said = f"{item.title}. Owner {item.owner.label}. By our records; the maker's instructions and local rules decide."
    return Event(
        uid=f"{clock.uid}@{urlsplit(settings.BASE_URL).hostname}",
        day=due_on,
        summary=f"{clock.title}: {item.label}",
        description=said,
        url=settings.BASE_URL + reverse("item", args=[item.uid]),
        sequence=clock.moved,
    )
