"""Add and change customers."""

from typing import Any

from django.db import transaction

from shop.customers.models import Customer
from shop.customers.reads import thing
from shop.journal.actions import write
from shop.search.actions import put
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import next_number
from shop.workshop.rules import Stale


def add_customer(*, by: Person, kind: str, name: str, email: str, phone: str, reminders: bool) -> Customer:
    """Add a customer under the next customer number."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        customer = Customer.objects.create(
            number=next_number("customer"),
            kind=kind,
            name=name,
            email=email,
            phone=phone,
            reminders=reminders,
        )
        put(thing=thing(customer))
        _journal(by, customer, "added")
    return customer


def change_customer(*, by: Person, customer: Customer, seen: int, **changes: Any) -> Customer:
    """Change what is given of a customer whom the caller saw at version `seen`."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        if customer.version != seen:
            raise Stale(customer.version)
        for name, value in changes.items():
            setattr(customer, name, value)
        customer.version += 1
        customer.save()
        put(thing=thing(customer))
        _journal(by, customer, "changed")
    return customer


def _journal(by: Person, customer: Customer, verb: str) -> None:
    write(
        subject=f"customer:{customer.uid}",
        by=str(by.uid),
        verb=verb,
        facts={"kind": customer.kind, "reminders": customer.reminders, "version": customer.version},
        words={"name": customer.name, "email": customer.email, "phone": customer.phone},
    )
