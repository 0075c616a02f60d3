"""Check gear in, whole or not at all; photograph it as it came; merge and split items, knowing of their jobs."""

from datetime import date
from typing import TypedDict

from django.db import transaction

from jobs.flow.actions import open_drop_off, open_job, open_line
from jobs.flow.models import DropOff, Job, Line
from jobs.flow.rules import ENDED
from shop.catalogue.models import PlanVersion
from shop.clocks.actions import set_going
from shop.customers.models import Customer
from shop.files.actions import keep_photograph
from shop.files.models import Photograph
from shop.files.reads import Picture
from shop.gear import actions as gear
from shop.gear.models import Identifier, Item
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import today
from shop.workshop.rules import Refusal, merged_refusals, refuse


class LineWords(TypedDict):
    """One line as it was put on the counter."""

    item: Item
    plan: PlanVersion
    contents: str
    condition: str
    words: str


def check_in(*, by: Person, customer: Customer, promised_on: date, lines: list[LineWords]) -> DropOff:
    """Open a drop-off; each line's item gets a job under its plan and the plan's clock."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        # All items at once and in one order: two counters must not wait for each other.
        items = Item.objects.filter(pk__in=[line["item"].pk for line in lines]).order_by("pk")
        list(items.select_for_update())
        refuse([*merged_refusals(customer, "customer"), *_refusals(promised_on, lines)])
        drop_off = open_drop_off(by=by, customer=customer, promised_on=promised_on)
        for n, line in enumerate(lines, start=1):
            _open(by, drop_off, n, line)
        write(
            subject=f"drop-off:{drop_off.uid}",
            by=str(by.uid),
            verb="checked in",
            facts={"number": drop_off.label, "lines": len(lines), "customer": str(customer.uid)},
        )
    return drop_off


def _open(by: Person, drop_off: DropOff, n: int, line: LineWords) -> Job:
    row = open_line(
        by=by,
        drop_off=drop_off,
        n=n,
        item=line["item"],
        words=line["words"],
        condition=line["condition"],
        contents=line["contents"],
    )
    plan = line["plan"].plan
    set_going(by=by, item=line["item"], key=plan.clock_key, title=plan.clock_title, months=plan.clock_months)
    return open_job(
        by=by, line=row, item=line["item"], plan_version=line["plan"], promised_on=drop_off.promised_on
    )


def _refusals(promised_on: date, lines: list[LineWords]) -> list[Refusal]:
    """Every reason at once, with the field of the form it concerns."""
    found = []
    if promised_on < today():
        found.append(Refusal("promise-past", "The promised day has passed already.", "promised_on"))
    seen: set[int] = set()
    for i, line in enumerate(lines):
        item, pointer = line["item"], f"lines-{i}-item"
        if item.pk in seen:
            found.append(Refusal("item-twice", f"{item.label} stands on two lines.", pointer))
        seen.add(item.pk)
        found += merged_refusals(item, pointer)
        if Job.objects.filter(item=item).exclude(leg__in=ENDED).exists():
            found.append(Refusal("open-job", f"{item.label} has an open job already.", pointer))
        if line["plan"].model_id != item.model_id:
            found.append(
                Refusal(
                    "wrong-plan",
                    f"Line {i + 1}: this plan is for another model than {item.label}, {item.title}.",
                    f"lines-{i}-plan",
                )
            )
    return found


def photograph_line(*, by: Person, line: Line, photograph: Picture, words: str) -> Photograph:
    """Keep a photograph of what was put on the counter, as it came."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=line.drop_off_id)
        subject, chain = f"line:{line.uid}", f"drop-off:{drop_off.uid}"
        return keep_photograph(by=str(by.uid), subject=subject, chain=chain, picture=photograph, words=words)


def merge_items(*, by: Person, keep: Item, lose: Item, seen: int) -> Item:
    """Merge an item into another unless it has an open job; clocks that only the lost one had count as due."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        list(Item.objects.select_for_update().filter(pk__in=[keep.pk, lose.pk]).order_by("pk"))
        if Job.objects.filter(item=lose).exclude(leg__in=ENDED).exists():
            said = f"{lose.label} has an open job: merge the other way round, or when the job has ended."
            refuse([Refusal("open-job", said)])
        keep = gear.merge_items(by=by, keep=keep, lose=lose, seen=seen)
        for clock in lose.clocks.order_by("pk"):
            set_going(by=by, item=keep, key=clock.key, title=clock.title, months=clock.months)
    return keep


def split_item(*, by: Person, item: Item, seen: int, identifiers: list[Identifier]) -> Item:
    """Split an item in two; the second one's history is unknown, so each of its clocks counts as due."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        second = gear.split_item(by=by, item=item, seen=seen, identifiers=identifiers)
        for clock in item.clocks.order_by("pk"):
            set_going(by=by, item=second, key=clock.key, title=clock.title, months=clock.months)
    return second
