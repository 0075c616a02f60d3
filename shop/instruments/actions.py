"""Add instruments and their calibrations."""

from datetime import date

from django.db import transaction

from shop.instruments.models import Calibration, Instrument
from shop.instruments.reads import thing
from shop.journal.actions import write
from shop.search.actions import put
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.rules import Refusal, refuse


def add_instrument(
    *,
    by: Person,
    code: str,
    name: str,
    kind: str,
    unit: str,
    resolution: str,
    full_scale: str = "",
    accuracy: str = "",
) -> Instrument:
    """Add an instrument; it may be used once a calibration covers the day."""
    require(by, Can.KEEP_INSTRUMENTS)
    told = {"resolution": resolution, "full_scale": full_scale, "accuracy": accuracy}
    with transaction.atomic():
        row, made = Instrument.objects.get_or_create(
            code=code, defaults={"name": name, "kind": kind, "unit": unit} | told
        )
        if not made:
            refuse([Refusal("code-taken", "Another instrument has this code.", "code")])
        put(thing=thing(row))
        write(
            subject=f"instrument:{row.uid}",
            by=str(by.uid),
            verb="added",
            facts={"code": code, "kind": kind} | told,
        )
    return row


def calibrate(
    *, by: Person, instrument: Instrument, done_on: date, good_to: date, certificate: str
) -> Instrument:
    """Record a calibration."""
    require(by, Can.KEEP_INSTRUMENTS)
    if good_to < done_on:
        refuse([Refusal("period", "It cannot be good to a day before it was done.", "good_to")])
    with transaction.atomic():
        instrument = Instrument.objects.select_for_update().get(pk=instrument.pk)
        Calibration.objects.create(
            instrument=instrument, done_on=done_on, good_to=good_to, certificate=certificate
        )
        facts = {"done_on": str(done_on), "good_to": str(good_to), "certificate": certificate}
        write(subject=f"instrument:{instrument.uid}", by=str(by.uid), verb="calibrated", facts=facts)
    return instrument
