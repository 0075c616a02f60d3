"""Which items and lots a notice matches, asked of the database."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from jobs.safety.models import Notice, sought_in
from jobs.safety.rules import Dates, How, Span, how_of
from shop.gear.rules import mark_key
from shop.lives.rules import quarter_end
from shop.staff.models import Person
from shop.stock.models import Content, Lot, Movement
from shop.stock.rules import Verb
from shop.workshop.reads import columns

AT_ONCE = 100  # spans in one statement: each is looked up in the index of serials


def notices() -> QuerySet[Notice]:
    """Notices with what their row shows."""
    return Notice.objects.select_related("by", "withdrawal__by", "look").prefetch_related("gear_models")


def standing() -> QuerySet[Notice]:
    """Notices that were not withdrawn."""
    return Notice.objects.filter(withdrawal=None).order_by("pk")


@dataclass(frozen=True)
class Found:
    """A statement that gives the keys of items that match, and how they do."""

    how: How
    sql: str
    given: tuple[Any, ...]


def items_named(notice: Notice, which: str, *given: Any) -> Iterator[Found]:
    """Of the items that a condition on their `{key}` names, those that a notice matches by itself: the surest first.

    Marks are looked up first, by indexes alone; what each statement then reads of the items are those that have them.
    """
    if not notice.about_items:
        return
    where, asked = "i.merged_into_id IS NULL", list[Any]()
    if models := [model.pk for model in notice.gear_models.all()]:
        where, asked = f"{where} AND i.model_id = ANY(%s)", [models]
    if notice.dates == Dates.HERE:
        where, asked = f"{where} AND {_SERVICED}", [*asked, str(notice.from_day), str(notice.to_day)]
    how = How.UNCLEAR if notice.dates == Dates.MADE else How.NAMED
    if not notice.ranges:
        sql = f"SELECT i.id FROM gear_item i WHERE {which.format(key='i.id')} AND {where}"  # noqa: S608 - all of it is written here
        yield Found(how, sql, (*given, *asked))
        return
    sql = f"SELECT i.id FROM gear_item i WHERE i.id = ANY(%s) AND {where}"  # noqa: S608 - likewise
    if keys := _marked(notice.sought.named, which, given):
        yield Found(how, sql, (keys, *asked))
    within, ends = _within(notice.sought.unclear)
    unclear, ends = f"(s.key = ANY(%s) OR {within})", (sorted(notice.sought.exact), *ends)
    unsure = f"(s.state IN ('unreadable', 'disputed') OR {unclear})"
    keys = _asked(f"{_MARKS} AND {unsure} AND {which.format(key='s.item_id')}", *ends, *given)
    bare = _BARE.format(own=which.format(key="b.id"), serials=which.format(key="s.item_id"))
    if keys := [*keys, *_asked(bare, *given, *given)]:
        sql = f"{sql} AND NOT EXISTS ({_MARKS} AND s.item_id = i.id AND s.state = 'read' AND NOT {unclear})"
        yield Found(How.UNCLEAR, sql, (keys, *asked, *ends))


def _marked(spans: Sequence[Span], which: str, given: Sequence[Any]) -> list[int]:
    """The items that have a serial within some spans."""
    found = set[int]()
    for n in range(0, len(spans), AT_ONCE):
        within, ends = _within(spans[n : n + AT_ONCE])
        found |= set(_asked(f"{_MARKS} AND ({within}) AND {which.format(key='s.item_id')}", *ends, *given))
    return sorted(found)


def _asked(sql: str, *given: Any) -> list[int]:
    return [pk for (pk,) in columns(sql, *given)]


def few_marks(notice: Notice, most: int) -> bool:
    """Whether no more than so many serials are named by a notice's ranges or cannot be compared with them."""
    if not notice.ranges:
        return False
    spans, left = [*notice.sought.named, *notice.sought.unclear], most
    for n in range(0, len(spans), AT_ONCE):
        within, ends = _within(spans[n : n + AT_ONCE])
        ((count,),) = columns(_COUNTED.format(within=within), *ends, left + 1)
        left -= count
        if left < 0:
            return False
    ((count,),) = columns(_COUNTED.format(within="s.key = ANY(%s)"), sorted(notice.sought.exact), left + 1)
    return bool(count <= left)


def _within(spans: Sequence[Span]) -> tuple[str, tuple[Any, ...]]:
    """A condition that a key lies within one of some spans, and what it is given."""
    return " OR ".join("s.key BETWEEN %s AND %s" for _ in spans), tuple(end for span in spans for end in span)


_SERVICED = """EXISTS (
    SELECT 1 FROM gear_item m JOIN clocks_clock c ON c.item_id = m.id JOIN clocks_restart r ON r.clock_id = c.id
    LEFT JOIN clocks_takenback t ON t.restart_id = r.id
    WHERE (m.id = i.id OR m.merged_into_id = i.id) AND r.anchor BETWEEN %s AND %s AND r.elsewhere = '' AND t.id IS NULL
)"""

_BARE = """
SELECT b.id FROM gear_item b WHERE {own} AND NOT EXISTS (
    SELECT 1 FROM gear_identifier s WHERE s.item_id = b.id AND s.kind = 'serial' AND {serials}
)
"""

_COUNTED = """
SELECT COUNT(*) FROM (SELECT 1 AS one FROM gear_identifier s WHERE s.kind = 'serial' AND ({within}) LIMIT %s) marks
"""

_MARKS = "SELECT s.item_id FROM gear_identifier s WHERE s.kind = 'serial'"


def lots_named(notice: Notice, lots: Iterable[Lot]) -> dict[int, How]:
    """Of lots, by key, those that a notice names, and how; a kit's line names the pieces that came out of it."""
    lots = list(lots)
    kits: dict[int, set[str]] = {}
    inside = Content.objects.filter(part__in={lot.part_id for lot in lots})
    for part, kit in inside.values_list("part", "kit__number"):
        kits.setdefault(part, set()).add(kit)
    found = {}
    for lot in lots:
        parts = {lot.part.number, *kits.get(lot.part_id, ())}
        lines = [line["lot"] for line in notice.lots if line["part"] in parts]
        how = how_of([(mark_key(lot.number), True)], sought_in(lines)) if lines else None
        if how and (dated := _dated(notice, lot)):
            found[lot.pk] = How.UNCLEAR if How.UNCLEAR in (how, dated) else How.NAMED
    return found


def _dated(notice: Notice, lot: Lot) -> How | None:
    """How a lot meets the period of a notice: by the end of its cure quarter, or by the day on which it was received."""
    if not notice.from_day or not notice.to_day:
        return How.NAMED
    if notice.dates == Dates.MADE:
        end = quarter_end(lot.cured)
        if end is None:
            return How.UNCLEAR
        begins = end.replace(month=end.month - 2, day=1)
        return How.NAMED if begins <= notice.to_day and end >= notice.from_day else None
    came = Movement.objects.filter(lot=lot, verb=Verb.RECEIVE)
    within = came.filter(effective_on__range=(notice.from_day, notice.to_day))
    return How.NAMED if within.exists() else None


def office_panel(person: Person) -> tuple[str, dict[str, Any]]:
    """How many notices stand."""
    return "safety/office_panel.html", {"standing": standing().count()}
