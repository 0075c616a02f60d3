"""The lists that are asked now, what was seen of a drop-off's pieces, and how a ticket prints it."""

import json
from collections.abc import Iterable, Sequence
from datetime import UTC, tzinfo
from functools import cache
from typing import Any

from django.conf import settings
from django.db.models import QuerySet

from jobs.condition.models import ConditionList, Look
from jobs.flow.models import DropOff, Line
from jobs.flow.reads import newest_custody
from jobs.flow.rules import Where
from shop.paper.rules import Block, Words, moment, own
from shop.workshop.reads import zone
from shop.workshop.rules import Kind

NO_VERDICT = "The list says what was seen when the gear was looked at. It does not say that the gear is safe."


@cache
def shipped() -> dict[str, list[str]]:
    """The lists that come with the house, by kind: common practice, without a source."""
    found: dict[str, list[str]] = json.loads((settings.ROOT / "fixtures" / "conditions.json").read_text())
    return {kind.value: found[kind] for kind in Kind}


def lists() -> dict[str, ConditionList]:
    """The newest list of each kind, by kind; as shipped where the workshop has none of its own."""
    found = {kind: ConditionList(kind=kind, text="\n".join(asks)) for kind, asks in shipped().items()}
    return found | {row.kind: row for row in ConditionList.objects.order_by("n")}


def newest(kind: str) -> ConditionList:
    """The list that is asked of a kind now."""
    own_list = ConditionList.objects.filter(kind=kind).order_by("-n").first()
    return own_list or ConditionList(kind=kind, text="\n".join(shipped()[kind]))


def versions(keys: Iterable[tuple[str, int]]) -> dict[tuple[str, int], list[str]]:
    """What was asked in these versions of lists; those that never were are left out."""
    wanted = set(keys)
    rows = ConditionList.objects.filter(kind__in={kind for kind, _ in wanted})
    found = {(row.kind, row.n): row.asks for row in rows}
    found |= {(kind, 0): asks for kind, asks in shipped().items()}
    return {key: asks for key, asks in found.items() if key in wanted}


def looks() -> QuerySet[Look]:
    """Looks with what was answered, in the order in which they were taken."""
    return Look.objects.select_related("by", "line__drop_off").prefetch_related("answers").order_by("pk")


def looks_of(lines: Iterable[Line]) -> dict[int, list[Look]]:
    """The looks at some lines, by the line's key."""
    found: dict[int, list[Look]] = {}
    for row in looks().filter(line__in=[line.pk for line in lines]):
        found.setdefault(row.line_id, []).append(row)
    return found


def here(drop_off: DropOff) -> list[Line]:
    """The lines of a drop-off that are ours to look at: those nobody has looked at first."""
    gone = newest_custody().filter(line__drop_off=drop_off, where=Where.GONE).values_list("line", flat=True)
    rows = drop_off.lines.exclude(pk__in=list(gone)).select_related("item__model", "drop_off").order_by("n")
    before = set(Look.objects.filter(line__drop_off=drop_off).values_list("line", flat=True))
    return sorted(rows, key=lambda line: line.pk in before)


def printed_looks(lines: Sequence[Line]) -> dict[int, tuple[str, ...]]:
    """What a ticket says of each line, a paragraph a look; that nobody looked, where its list asks for something."""
    found, present = looks_of(lines), lists()
    none = ("Condition list: nobody has gone through it yet.",)
    said = {line.pk: none if asks_something(line, present) else () for line in lines}
    there = zone() if found else UTC
    return said | {pk: tuple(_paragraph(look, there) for look in rows) for pk, rows in found.items()}


def _paragraph(look: Look, there: tzinfo) -> str:
    seen = "; ".join(f"{each.words} ({own(each.note)})" if each.note else each.words for each in look.seen)
    others = {"Nothing seen at": look.fine, "Not looked at": look.left}
    rest = "".join(
        f" {said}: {'; '.join(each.words for each in rows)}." for said, rows in others.items() if rows
    )
    return f"Looked at on {moment(look.at, there)} by {own(look.by.name)}. Seen: {seen or 'nothing of the list'}.{rest}"


def asks_something(line: Line, present: dict[str, ConditionList]) -> bool:
    """Whether there is a list to go through for a line: that of its item's kind, if it has lines."""
    return line.item is None or bool(present[line.item.model.kind].asks)


def printed_caution() -> list[Block]:
    """What a ticket says below them."""
    return [Words(NO_VERDICT, 8)]


def drop_off_panel(drop_off: DropOff) -> tuple[str, dict[str, Any]]:
    """What was seen of each piece, and which nobody has looked at."""
    rows, found = _rows(drop_off)
    present = lists()
    open_ones = [line for line in rows if line.pk not in found and asks_something(line, present)]
    return "condition/drop_off_panel.html", _shown(rows, found) | {"open": open_ones}


def porthole_panel(view: Any) -> tuple[str, dict[str, Any]]:
    """What the customer sees of it under a private link: without the notes, which are on the ticket."""
    return "condition/porthole_panel.html", _shown(*_rows(view.drop_off))


def _rows(drop_off: DropOff) -> tuple[list[Line], dict[int, list[Look]]]:
    lines = list(drop_off.lines.select_related("item__model", "drop_off").order_by("n"))
    return lines, looks_of(lines)


def _shown(lines: list[Line], found: dict[int, list[Look]]) -> dict[str, Any]:
    rows = [{"line": line, "looks": found[line.pk]} for line in lines if line.pk in found]
    return {"rows": rows, "caution": NO_VERDICT}


def office_panel(person: Any) -> tuple[str, dict[str, Any]]:
    """The way to the lists."""
    return "condition/office_panel.html", {}
