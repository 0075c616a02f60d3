"""Renew the address of the calendar."""

from django.db import transaction

from shop.due.reads import address
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import renew_feed


def renew_address(*, by: Person) -> str:
    """Give the calendar a new secret address; the one before ends at once."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        facts = {"calendar": renew_feed()}
        write(subject="workshop", by=str(by.uid), verb="settings changed", facts=facts)
    return address()
