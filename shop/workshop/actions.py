"""Open the workshop; give out human numbers."""

from zoneinfo import available_timezones

from django.db import transaction
from django.db.models import F

from shop.workshop.models import Counter, Workshop
from shop.workshop.rules import Refusal, refuse


def open_workshop(*, name: str, zone: str, currency: str) -> Workshop:
    """Write the workshop's row, once; refused when it stands already or the zone is unknown."""
    found = []
    if Workshop.objects.exists():
        found.append(Refusal("workshop-open", "The workshop is open already."))
    if zone not in available_timezones():
        found.append(Refusal("zone-unknown", f"There is no time zone named {zone!r}.", "zone"))
    refuse(found)
    return Workshop.objects.create(name=name, zone=zone, currency=currency)


def next_number(kind: str) -> int:
    """The next number of a kind, inside the caller's transaction; the row stays locked until it ends."""
    return next_numbers(kind, 1)[0]


def next_numbers(kind: str, count: int) -> range:
    """The next so many numbers of a kind, likewise."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A number is given inside a transaction only.")
    if not Counter.objects.filter(kind=kind).update(next=F("next") + count):
        Counter.objects.bulk_create([Counter(kind=kind)], ignore_conflicts=True)
        Counter.objects.filter(kind=kind).update(next=F("next") + count)
    end = Counter.objects.values_list("next", flat=True).get(kind=kind)
    return range(end - count, end)
