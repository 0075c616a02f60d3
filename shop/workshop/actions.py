"""Open the workshop; give out human numbers; die where a trial run asks for it."""

import os
import signal
from collections import Counter as Counts
from typing import Any
from zoneinfo import available_timezones

from django.conf import settings
from django.db import transaction

from shop.workshop.models import Workshop
from shop.workshop.reads import columns
from shop.workshop.rules import Refusal, Stale, refuse

_passed: Counts[str] = Counts()


class FailPoint(Exception):
    """Raised where EBBWRIGHT_FAILPOINT asks for it."""


def failpoint(name: str) -> None:
    """Nothing, unless EBBWRIGHT_FAILPOINT names this place: then the process dies, or raises, at the passing it says."""
    if settings.FAILPOINT is None or settings.FAILPOINT[0] != name:
        return
    _passed[name] += 1
    if _passed[name] == settings.FAILPOINT[1]:
        if settings.FAILPOINT[2] == "kill":
            os.kill(os.getpid(), signal.SIGKILL)
        raise FailPoint(name)


def open_workshop(*, name: str, zone: str, currency: str) -> Workshop:
    """Write the workshop's row, once; refused when it stands already or the zone is unknown."""
    found = []
    if Workshop.objects.exists():
        found.append(Refusal("workshop-open", "The workshop is open already."))
    if zone not in available_timezones():
        found.append(Refusal("zone-unknown", f"There is no time zone named {zone!r}.", "zone"))
    refuse(found)
    return Workshop.objects.create(name=name, zone=zone, currency=currency)


def say_cylinders_tested(*, may: bool) -> None:
    """Write whether the workshop may pressure-test cylinders itself, in the transaction of whoever asked for the right."""
    Workshop.objects.update(tests_cylinders=may)


def set_oxygen_threshold(*, share: int, seen: int) -> None:
    """Write above which share of oxygen gas counts as enriched, likewise, if it stands at the version that was seen."""
    _change(seen, oxygen_threshold=share)


def set_reach(*, seen: int, **said: str) -> None:
    """Write how customers reach the workshop, and when its counter is open, likewise."""
    _change(seen, **said)


def set_terms(*, seen: int, **terms: Any) -> None:
    """Write how prices, tax and nudges are reckoned, likewise."""
    _change(seen, **terms)


def set_places(*, places: list[str]) -> None:
    """Write whose rules are followed, likewise; the rows that ask for it have their own versions."""
    row = Workshop.objects.select_for_update().get()
    Workshop.objects.filter(pk=row.pk).update(version=row.version + 1, places=places)


def set_letters(*, seen: int, **told: Any) -> None:
    """Write when letters go out, and in which language where nobody said one, likewise."""
    _change(seen, **told)


def renew_feed() -> int:
    """End the address of the calendar of what is due; which one counts now."""
    row = Workshop.objects.select_for_update().get()
    Workshop.objects.filter(pk=row.pk).update(feed=row.feed + 1)
    return row.feed + 1


def _change(seen: int, **given: Any) -> None:
    row = Workshop.objects.select_for_update().get()
    if row.version != seen:
        raise Stale(row.version)
    Workshop.objects.filter(pk=row.pk).update(version=seen + 1, **given)


def next_number(kind: str) -> int:
    """The next number of a kind, inside the caller's transaction; the row stays locked until it ends."""
    return next_numbers(kind, 1)[0]


def next_numbers(kind: str, count: int) -> range:
    """The next so many numbers of a kind, likewise."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A number is given inside a transaction only.")
    sql = """
    INSERT INTO workshop_counter (kind, next) VALUES (%s, %s)
    ON CONFLICT (kind) DO UPDATE SET next = workshop_counter.next + %s RETURNING next
    """
    ((end,),) = columns(sql, kind, 1 + count, count)
    return range(end - count, end)
