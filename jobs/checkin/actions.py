"""Check gear in, whole or not at all; itemise what was bagged; photograph it; merge and split items with jobs."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils.module_loading import import_string

from jobs.bookings.actions import came
from jobs.bookings.models import Booking
from jobs.checkin.rules import Put, line_refusals, promise_refusals
from jobs.flow.actions import Opening, open_drop_off, open_jobs, open_lines
from jobs.flow.models import DropOff, Hold, Job, Line
from jobs.flow.reads import at_hand, erased_refusals, job_refusals
from jobs.flow.rules import ENDED, LineState, Where
from jobs.lending.reads import lent
from jobs.safety.actions import look_at_items
from shop.catalogue.models import Model, PlanVersion
from shop.clocks.actions import set_going
from shop.customers.models import Customer
from shop.files.actions import keep_photograph
from shop.files.models import Photograph
from shop.files.reads import Picture
from shop.gear import actions as gear
from shop.gear.actions import here_again
from shop.gear.models import Identifier, Item
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import today
from shop.workshop.rules import Refusal, Stale, merged_refusals, refuse

Lines = Sequence[dict[str, Any]]  # each as a checked `LineIn` gives it


def check_in(
    *,
    by: Person,
    customer: Customer,
    promised_on: date,
    lines: Lines,
    wanted_on: date | None = None,
    bringer: Customer | None = None,
    payer: Customer | None = None,
    collector: Customer | None = None,
    booking: Booking | None = None,
    link: bool = False,
) -> DropOff:
    """Open a drop-off; a line whose item is known gets its job and clocks, the others are bagged and tagged.

    It keeps the booking that is named, or the customer's of today; `link` has a private link to it written to the customer.
    """
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        others = {"bringer": bringer, "payer": payer, "collector": collector}
        named = {"customer": customer} | {name: row for name, row in others.items() if row}
        merged = [each for name, row in named.items() for each in merged_refusals(row, name)]
        refuse([*promise_refusals(promised_on, today()), *merged, *_refusals(lines)])
        drop_off = open_drop_off(
            by=by,
            customer=customer,
            promised_on=promised_on,
            wanted_on=wanted_on,
            bringer=bringer,
            payer=payer,
            collector=collector,
        )
        _put(by, drop_off, lines, first=1)
        came(by=by, customer=customer, drop_off=drop_off, booking=booking)
        facts: dict[str, Any] = {"number": drop_off.label, "lines": len(lines), "customer": str(customer.uid)}
        facts |= {name: str(row.uid) for name, row in others.items() if row}
        write(subject=f"drop-off:{drop_off.uid}", by=str(by.uid), verb="checked in", facts=facts)
        if link:
            import_string(settings.WRITES_LINK)(by=by, drop_off=drop_off)
    return drop_off


def add_lines(*, by: Person, drop_off: DropOff, lines: Lines, seen: int) -> DropOff:
    """Put more lines on an open drop-off."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        drop_off = _locked(drop_off, seen)
        refuse([*erased_refusals(drop_off), *_refusals(lines)])
        _put(by, drop_off, lines, first=drop_off.lines.count() + 1)
        _changed(by, drop_off, "lines added", {"lines": len(lines)})
    return drop_off


def itemise(
    *,
    by: Person,
    line: Line,
    item: Item,
    plan: PlanVersion | None,
    more_plans: Sequence[PlanVersion] = (),
    follows: Job | None = None,
) -> Line:
    """Say which item a bagged line is; it gets its job and clocks."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=line.drop_off_id)
        line = Line.objects.select_for_update().get(pk=line.pk)
        line.drop_off = drop_off
        given = {"item": item, "plan": plan, "more_plans": more_plans, "follows": follows}
        found = _refusals([given | {"state": line.state, "words": line.words, "condition": ""}])
        if line.item_id:
            found.append(Refusal("itemised", "This line has its item already.", "item"))
        if at_hand(line).where == Where.GONE:
            found.append(Refusal("gone", "By the record this bag has left the workshop."))
        refuse(found)
        line.item = item
        line.save(update_fields=["item"])
        _begin(by, [(line, given)])
        _changed(by, drop_off, "itemised", {"line": line.tag, "item": str(item.uid)})
    return line


def check_in_many(
    *,
    by: Person,
    drop_off: DropOff,
    seen: int,
    model: Model,
    plan: PlanVersion,
    marks: Sequence[dict[str, str]],
    **same: Any,
) -> DropOff:
    """Add many items of one model at once, each with its own mark, and check them in under one plan."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        drop_off = _locked(drop_off, seen)
        named = [mark["owners_mark"] or mark["serial"] for mark in marks]
        twice = sorted({name for name in named if name and named.count(name) > 1})
        refuse([Refusal("mark-twice", f"{name} stands twice in the list.", "marks") for name in twice])
        owner = drop_off.customer.kept
        items = [gear.add_item(by=by, owner=owner, model=model, **mark) for mark in marks]
        lines = [{"item": item, "plan": plan, "more_plans": (), "follows": None, **same} for item in items]
        refuse(_refusals(lines))
        _put(by, drop_off, lines, first=drop_off.lines.count() + 1)
        _changed(by, drop_off, "many added", {"lines": len(lines), "model": str(model.uid)})
    return drop_off


def bring_many(*, by: Person, customer: Customer, promised_on: date, **many: Any) -> DropOff:
    """Open a drop-off for many items of one model and nothing else; it keeps the customer's booking of today."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        refuse([*promise_refusals(promised_on, today()), *merged_refusals(customer, "customer")])
        drop_off = open_drop_off(by=by, customer=customer, promised_on=promised_on)
        came(by=by, customer=customer, drop_off=drop_off, booking=None)
        return check_in_many(by=by, drop_off=drop_off, seen=drop_off.version, **many)


def _locked(drop_off: DropOff, seen: int) -> DropOff:
    row = DropOff.objects.select_for_update(of=("self",)).select_related("customer").get(pk=drop_off.pk)
    if row.version != seen:
        raise Stale(row.version)
    return row


def _changed(by: Person, drop_off: DropOff, verb: str, facts: dict[str, Any]) -> None:
    drop_off.version += 1
    drop_off.save(update_fields=["version"])
    write(subject=f"drop-off:{drop_off.uid}", by=str(by.uid), verb=verb, facts=facts)


def _put(by: Person, drop_off: DropOff, lines: Lines, *, first: int) -> None:
    apart = ("plan", "more_plans", "follows")
    given = [{name: value for name, value in line.items() if name not in apart} for line in lines]
    _begin(by, list(zip(open_lines(by=by, drop_off=drop_off, first=first, given=given), lines, strict=True)))


def _begin(by: Person, rows: Sequence[tuple[Line, dict[str, Any]]]) -> None:
    """The jobs and the clocks of lines of one drop-off, where their item and plan are known."""
    openings = [
        Opening(line, line.item, plans, given.get("follows"))
        for line, given in rows
        if line.item and (plans := _plans(given))
    ]
    if not openings:
        return
    for each in openings:
        here_again(by=by, item=each.item)
        for promise in (promise for version in each.plans for promise in version.plan.promises):
            set_going(by=by, item=each.item, key=promise.key, title=promise.title, months=promise.months)
    look_at_items(items=[each.item for each in openings])
    open_jobs(by=by, openings=openings, promised_on=openings[0].line.drop_off.promised_on)


def _plans(given: dict[str, Any]) -> list[PlanVersion]:
    return [given["plan"], *given.get("more_plans", ())] if given.get("plan") else []


def _refusals(lines: Lines) -> list[Refusal]:
    """Every reason at once, with the field of the form it concerns; the items are locked for what follows."""
    # All items at once and in one order: two counters must not wait for each other.
    keys = [line["item"].pk for line in lines if line.get("item")]
    items = {row.pk: row for row in Item.objects.filter(pk__in=keys).order_by("pk").select_for_update()}
    found = line_refusals(
        [
            Put(
                line["item"].label if line.get("item") else "",
                bool(line.get("plan")),
                bool(line.get("follows")),
                line.get("state") == LineState.PARTS_ONLY,
                line.get("words", "") or line.get("condition", ""),
            )
            for line in lines
        ]
    )
    away = lent(keys)
    for i, line in enumerate(lines):
        if not line.get("item"):
            continue
        if line["item"].pk in away:
            found.append(replace(away[line["item"].pk], pointer=f"lines-{i}-item"))
        item, plans = items[line["item"].pk], _plans(line)
        if plans:
            found += job_refusals(item, plans, line.get("follows"), i)
        else:
            found += merged_refusals(item, f"lines-{i}-item")
    return found


def photograph_line(*, by: Person, line: Line, photograph: Picture, words: str) -> Photograph:
    """Keep a photograph of what was put on the counter, as it came."""
    require(by, Can.CHECK_IN)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=line.drop_off_id)
        subject, chain = f"line:{line.uid}", f"drop-off:{drop_off.uid}"
        return keep_photograph(by=str(by.uid), subject=subject, chain=chain, picture=photograph, words=words)


def merge_items(*, by: Person, keep: Item, lose: Item, seen: int) -> Item:
    """Merge an item into another unless it has an open job, is held or lent; clocks that only the lost one had count as due."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        list(Item.objects.select_for_update().filter(pk__in=[keep.pk, lose.pk]).order_by("pk"))
        if Job.objects.filter(item=lose).exclude(leg__in=ENDED).exists():
            said = f"{lose.label} has an open job: merge the other way round, or when the job has ended."
            refuse([Refusal("open-job", said)])
        if Hold.objects.filter(item=lose, lifted_at=None).exists():
            said = f"{lose.label} is held as evidence: merge the other way round, or when the hold is lifted."
            refuse([Refusal("held", said)])
        refuse(lent([lose.pk]).values())
        keep = gear.merge_items(by=by, keep=keep, lose=lose, seen=seen)
        for clock in lose.clocks.order_by("pk"):
            set_going(by=by, item=keep, key=clock.key, title=clock.title, months=clock.months)
    return keep


def split_item(*, by: Person, item: Item, seen: int, identifiers: list[Identifier]) -> Item:
    """Split an item in two; the second one's history is unknown, so each of its clocks counts as due."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        second = gear.split_item(by=by, item=item, seen=seen, identifiers=identifiers)
        if Hold.objects.filter(item=item, lifted_at=None).exists():  # asked once it is locked
            refuse([Refusal("held", f"{item.label} is held as evidence: split it when the hold is lifted.")])
        for clock in item.clocks.order_by("pk"):
            set_going(by=by, item=second, key=clock.key, title=clock.title, months=clock.months)
    return second
