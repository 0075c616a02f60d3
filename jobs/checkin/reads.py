"""What a drop-off takes along on paper: the claim ticket, and a tag for every bag."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404

from jobs.estimates.reads import go_ahead
from jobs.flow.models import DropOff, Line
from shop.paper.rules import (
    Bold,
    Caution,
    Cell,
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
from shop.workshop.reads import workshop, zone
from shop.workshop.rules import money


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
    rows = [(line.tag, _left(line), line.words or "nothing") for line in _lines(drop_off)]
    return Paper(
        name=f"claim-ticket-{drop_off.label}",
        title=f"Claim ticket {drop_off.label}",
        mark=drop_off.label,
        blocks=[
            Facts(facts),
            Heading("What was left"),
            Table(("bag", "what", "what the customer said"), (28, 84, 70), rows),
            Caution(Bold("Bring this ticket when you collect.")),
            *([Words(own(house.reach))] if house and house.reach else []),
        ],
    )


def bag_tags(uid: UUID) -> Tags:
    """A label for each bag of a drop-off: its number, whose it is, what it is, and in words what is inside."""
    drop_off = get_object_or_404(DropOff, uid=uid)
    tags = [Tag(line.tag, (_owner(line), _what(line)), _inside(line)) for line in _lines(drop_off)]
    return Tags(f"bag-tags-{drop_off.label}", f"Bag tags of {drop_off.label}", tags)


def _lines(drop_off: DropOff) -> Any:
    rows = drop_off.lines.select_related("item__model", "item__owner", "drop_off__customer")
    return rows.prefetch_related("item__identifiers").order_by("n")


def _left(line: Line) -> Cell:
    seen = [f"Seen: {line.condition}"] if line.condition else []
    marks = [f"{line.item.label}, {line.item.marks}"] if line.item else []
    taint = [f"To be cleaned apart: {line.taint}."] if line.taint != "none known" else []
    return (Bold(_what(line)), *marks, *seen, f"Gas inside when it came: {line.contents}.", *taint)


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
