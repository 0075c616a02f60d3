"""Instruments as the find box knows them."""

from collections.abc import Callable

from django.db.models import QuerySet
from django.urls import reverse

from shop.instruments.models import Instrument
from shop.instruments.rules import Tester
from shop.search.rules import Kind, Thing
from shop.workshop.reads import workshop


def thing(instrument: Instrument) -> Thing:
    """An instrument as it is found, in its row of the Office's page."""
    return Thing(
        subject=f"instrument:{instrument.uid}",
        kind=Kind.INSTRUMENT,
        number=instrument.code,
        title=instrument.name,
        note=instrument.kind,
        address=reverse("instruments") + f"#instrument-{instrument.uid}",
    )


def findable() -> tuple[QuerySet[Instrument], Callable[[Instrument], Thing]]:
    """Every instrument, for the find box."""
    return Instrument.objects.all(), thing


def who_tests_cylinders() -> Tester:
    """Who pressure-tests cylinders, as the workshop's setting says."""
    row = workshop()
    return Tester.OURSELVES if row and row.tests_cylinders else Tester.STATION


def instruments() -> QuerySet[Instrument]:
    """Instruments with all that tells whether they are good on a day."""
    return Instrument.objects.prefetch_related("calibrations", "checks")
