"""Lend a piece of our own gear, and bring it back."""

from datetime import date

from django.db import transaction

from jobs.lending.models import Loan
from jobs.lending.reads import hindrances
from jobs.lending.rules import borrower_refusals
from jobs.safety.actions import look_at_items
from shop.customers.models import Customer
from shop.gear.actions import here_again
from shop.gear.models import Item
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import today
from shop.workshop.rules import Refusal, merged_refusals, refuse


def lend(*, by: Person, item: Item, borrower: Customer, until: date, note: str = "") -> Loan:
    """Lend an item from today until a day; nobody overrides a refusal."""
    require(by, Can.LEND)
    with transaction.atomic():
        borrower = Customer.objects.select_for_update().get(pk=borrower.pk)
        item = _locked(item)
        look_at_items(items=[item])  # the search for a new notice may not have come to it yet
        theirs = [
            *merged_refusals(borrower, "borrower"),
            *borrower_refusals(borrower.name, ours=borrower.ours),
        ]
        refuse([*merged_refusals(item), *hindrances(item, until), *theirs])
        day = today()
        row = Loan.objects.create(item=item, borrower=borrower, out_on=day, until=until, note=note, by=by)
        facts = {"loan": str(row.uid), "borrower": str(borrower.uid), "out_on": str(day), "until": str(until)}
        words = {"note": note} if note else {}
        write(subject=f"item:{item.uid}", by=str(by.uid), verb="lent", facts=facts, words=words)
    return row


def bring_back(*, by: Person, loan: Loan, condition: str) -> Loan:
    """A lent item is here again, in the condition that is said; whatever became of it meanwhile, it is in use."""
    require(by, Can.LEND)
    with transaction.atomic():
        item = _locked(loan.item)
        row = Loan.objects.select_for_update().get(pk=loan.pk)
        if row.back_on is not None:
            refuse([Refusal("back-already", f"It was brought back on {row.back_on:%-d %B %Y} already.")])
        row.back_on, row.back_by, row.condition = today(), by, condition
        row.save(update_fields=["back_on", "back_by", "condition"])
        here_again(by=by, item=item)
        facts = {"loan": str(row.uid), "back_on": str(row.back_on)}
        write(
            subject=f"item:{item.uid}", by=str(by.uid), verb="brought back", facts=facts,
            words={"condition": condition},
        )  # fmt: skip
    return row


def _locked(item: Item) -> Item:
    rows = Item.objects.select_for_update(of=("self",)).select_related("model", "owner", "merged_into")
    return rows.get(pk=item.pk)
