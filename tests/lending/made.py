"""Gear of our own, watched by one clock, for tests and guards."""

from datetime import date
from typing import Any

from django.db import transaction

from jobs.lending.actions import lend
from jobs.lending.models import Loan
from shop.clocks.actions import restart, set_going
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.workshop.reads import today
from tests.conftest import House

FAR = date(2099, 1, 1)


def us(house: House) -> Customer:
    """The workshop as the owner of what it lends."""
    given: Any = {"email": "gear@aldermouth.example", "phone": "", "reminders": False, "ours": True}
    known = Customer.objects.filter(ours=True).first()
    return known or add_customer(
        by=house.people["counter"], kind="organisation", name="Our own gear", **given
    )


def our_item(house: House, serial: str = "R-1", months: int | None = 1200) -> Item:
    """A first stage of ours that was serviced today and must come again in so many months; None: never serviced."""
    by, item = house.people["technician"], house.item(serial=serial)
    Item.objects.filter(pk=item.pk).update(owner=us(house))
    with transaction.atomic():
        clock = set_going(by=by, item=item, key="overhaul", title="Overhaul", months=months or 12)
        if months:
            restart(by=by, clock=clock, months=months, day=today(), cause=f"service of {serial}")
    return Item.objects.select_related("owner").get(pk=item.pk)


def lent(house: House, item: Item, until: date = FAR) -> Loan:
    """A loan to the customer of the house."""
    return lend(
        by=house.people["counter"], item=item, borrower=house.customer, until=until, note="With its hose."
    )
