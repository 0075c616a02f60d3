"""What a drop-off takes along on paper, and what is proposed as gear comes in: plans, and a day to promise."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Prefetch
from django.shortcuts import get_object_or_404

from jobs.bookings.models import Booking
from jobs.bookings.rules import SOON
from jobs.checkin.rules import LOOKED_AT, Due, Offered, promise_from, usual_days, usual_plan
from jobs.condition.reads import printed_caution, printed_looks
from jobs.estimates.reads import go_ahead
from jobs.flow.models import DropOff, Job, Line, Move
from jobs.flow.reads import came_as, evidence_items, jobs, open_jobs
from jobs.flow.rules import ENDED, Leg
from jobs.terms.reads import printed_terms
from shop.catalogue.reads import newest
from shop.clocks.reads import due_by
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.paper.rules import (
    Bold,
    Caution,
    Cell,
    Cut,
    Facts,
    Heading,
    Paper,
    Table,
    Tag,
    Tags,
    Words,
    day,
    moment,
    own,
)
from shop.workshop.reads import today, workshop, zone
from shop.workshop.rules import money, open_on


def ticket(uid: UUID) -> Paper:
    """The claim ticket of a drop-off: what was left, for when it is promised, and the go-ahead if there is one."""
    drop_off = get_object_or_404(DropOff.objects.select_related("customer", "by"), uid=uid)
    facts: list[tuple[str, Cell]] = [
        ("customer", Bold(drop_off.customer.name)),
        ("left on", moment(drop_off.at, zone())),
        ("taken in by", drop_off.by.name),
        ("promised for", Bold(day(drop_off.promised_on))),
    ]
    if given := go_ahead(drop_off):
        amount = f"{money(given.amount, given.currency)} {given.currency}"
        facts.append(("go-ahead", f"up to {amount}, given by {own(given.given_by)}, {given.how}"))
    house = workshop()
    asked = Job.objects.select_related("plan_version").prefetch_related("more_plans")
    lines = list(_lines(drop_off).prefetch_related(Prefetch("job", asked)))
    seen = printed_looks(lines)
    rows = [(line.tag, (*_left(line), *seen[line.pk]), line.words or "nothing") for line in lines]
    return Paper(
        name=f"claim-ticket-{drop_off.label}",
        title=f"Claim ticket {drop_off.label}",
        mark=drop_off.label,
        blocks=[
            Facts(facts),
            Heading("What was left"),
            Table(("bag", "what", "what the customer said"), (28, 84, 70), rows),
            *printed_caution(),
            Caution(Bold("Bring this ticket when you collect.")),
            *printed_terms(drop_off),
            *([Words(own(house.reach))] if house and house.reach else []),
        ],
    )


def bag_tags(uid: UUID) -> Tags:
    """A label for each bag of a drop-off: its number, whose it is, what it is, and in words what is inside."""
    drop_off = get_object_or_404(DropOff, uid=uid)
    tags = [Tag(line.tag, (_owner(line), _what(line)), _inside(line)) for line in _lines(drop_off)]
    return Tags(f"bag-tags-{drop_off.label}", f"Bag tags of {drop_off.label}", tags)


def ticket_and_tags(uid: UUID) -> Paper:
    """Both on one paper, for a printer that knows no labels: the tags follow the ticket, to be cut out."""
    paper, tags = ticket(uid), bag_tags(uid)
    return replace(
        paper,
        name=f"ticket-and-tags-{paper.mark}",
        blocks=[*paper.blocks, Heading("Bag tags, to be cut out"), Cut(tags.tags)],
    )


def _lines(drop_off: DropOff) -> Any:
    rows = drop_off.lines.select_related("item__model", "item__owner", "drop_off__customer")
    return rows.prefetch_related("item__identifiers").order_by("n")


def _left(line: Line) -> tuple[str, ...]:
    seen = [f"Seen: {line.condition}"] if line.condition else []
    marks = [f"{line.item.label}, {line.item.marks}"] if line.item else []
    job: Job | None = getattr(line, "job", None)
    asked = [f"Service: {', '.join(each.plan.title for each in job.plans)}."] if job else []
    taint = [f"To be cleaned apart: {line.taint}."] if line.taint != "none known" else []
    return (Bold(_what(line)), *marks, *asked, *seen, f"Gas inside when it came: {line.contents}.", *taint)


def _what(line: Line) -> str:
    """The model, or while the item is unknown the customer's words."""
    return line.item.title if line.item else line.words or "not yet identified"


def _owner(line: Line) -> str:
    return line.item.owner.name if line.item else line.drop_off.customer.name


def _inside(line: Line) -> str:
    """What the bag's label warns of: gas inside, and what it must be cleaned of."""
    read = f" {line.pressure} {line.pressure_unit} {line.gas}".rstrip() if line.pressure else ""
    said = {
        "no gas": "no gas inside",
        "not looked at": "nobody looked inside: treat as under pressure",
        "under pressure": "confirmed empty" if line.emptied_at else f"UNDER PRESSURE{read}",
    }[line.contents]
    return said if line.taint == "none known" else f"{said}; CLEAN APART: {line.taint}"


def brought(
    customer: Customer, booking: Booking | None, *, gear_set: UUID | None, item: UUID | None
) -> list[Item]:
    """The items of a booking with those of a customer's set, or with one item; but for what is here already."""
    chosen = customer.sets.filter(uid=gear_set).first() if gear_set else None
    items = list(booking.items.all()) if booking else []
    items += list(chosen.present) if chosen else list(customer.items.filter(uid=item)) if item else []
    here = (
        set(open_jobs().order_by().filter(item__in=items).values_list("item", flat=True)) if items else set()
    )
    return [each for each in dict.fromkeys(items) if each.pk not in here]


def proposed(items: Iterable[Item]) -> dict[int, tuple[str, str]]:
    """Of items, by their keys: the uid of the plan that they usually come in under, and why; asked once for all."""
    given = list(items)
    keys, versions = [item.pk for item in given], newest(item.model_id for item in given)
    last = dict(Job.objects.filter(item__in=keys).order_by("pk").values_list("item_id", "plan_version__key"))
    came = Job.objects.filter(plan_version__in=versions).order_by().values_list("plan_version")
    often = dict(came.annotate(n=Count("pk")))
    due: dict[int, dict[str, Due]] = {}
    for clock in due_by(today() + SOON).filter(item__in=keys):
        due.setdefault(clock.item_id, {})[clock.key] = Due(clock.title, clock.due)
    found = {}
    for item in given:
        mine = {each.key: each for each in versions if each.model_id == item.model_id}
        offered = [
            Offered(
                key,
                tuple(promise.key for promise in each.plan.promises),
                last.get(item.pk) == key,
                often.get(each.pk, 0),
            )
            for key, each in mine.items()
        ]
        key, why = usual_plan(offered, due.get(item.pk, {}))
        found[item.pk] = (str(mine[key].uid) if key else "", why)
    return found


def usual_promise() -> tuple[date, str]:
    """The day that is promised unless somebody says another, and why: an open day."""
    rows = Move.objects.filter(to_leg=Leg.SIGNED_OFF).order_by("-pk").values_list("at", "job__drop_off__at")
    days, why = usual_days([(at - came).days for at, came in rows[:LOOKED_AT]])
    house, later = workshop(), today() + timedelta(days=days)
    near = [later + timedelta(days=n) for n in range(14)]
    closed = (house.closed_weekdays, house.closed_days) if house else ((), ())
    return promise_from(today(), days, [day for day in near if open_on(day, *closed)]), why


def plan_choices(models: Iterable[int]) -> list[tuple[Any, ...]]:
    """The newest version of each plan of the models with these primary keys, and its model."""
    return [(plan.uid, str(plan), plan.model.uid) for plan in newest(models)]


def line_choices(items: list[Item]) -> dict[str, list[tuple[Any, ...]]]:
    """Items and their plans, both with their models, and the items' ended jobs."""
    mine = came_as("item", Item, [item.pk for item in items])
    kept = set(evidence_items().filter(pk__in=[i.pk for i in items]).values_list("pk", flat=True))
    ended = jobs().filter(mine, leg__in=ENDED).order_by("-pk")[:50]
    named = {
        i: f"{i.label} {i.title} ({i.marks})" + (", kept as evidence" if i.pk in kept else "") for i in items
    }
    return {
        "item": [(item.uid, words, item.model.uid) for item, words in named.items()],
        "plan": plan_choices(item.model_id for item in items),
        "follows": [(job.uid, f"Tray {job.number}, {job.item.label} {job.item.title}") for job in ended],
    }
