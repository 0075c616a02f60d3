"""Gear that is due, and the link of a letter about it."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.db import transaction

from shop.clocks.actions import done_elsewhere, set_going
from shop.clocks.models import Clock
from shop.links.actions import make_links
from shop.links.rules import LinkFor, Wanted
from shop.workshop.reads import today
from tests.conftest import House
from tests.photographs import PDF


def overdue(house: House, serial: str = "TH-1", days: int = 400) -> Clock:
    """A clock of twelve months that was satisfied so many days ago."""
    by = house.people["counter"]
    clock = set_going(by=by, item=house.item(serial=serial), key="service", title="Service", months=12)
    done: dict[str, Any] = {"elsewhere": "Quay Divers", "photograph": None, "document": PDF}
    return done_elsewhere(by=by, clock=clock, day=today() - timedelta(days=days), **done)


def linked(house: House) -> str:
    """The path of a link of the customer, as a letter has it."""
    with transaction.atomic():
        (address,) = make_links(wanted=[Wanted(house.customer, LinkFor.ANSWER, uuid4())])
    return address.removeprefix("http://127.0.0.1:8710")
