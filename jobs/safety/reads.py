"""Which items and lots a notice matches, what stands open, whom to telephone, how far it is."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet, Subquery

from jobs.flow.models import Job
from jobs.flow.reads import came_as
from jobs.flow.rules import ENDED
from jobs.safety.models import Answer, Look, Match, Notice, sought_in
from jobs.safety.rules import MOST_SHOWN, Became, Dates, How, Span, how_of, match_refusal, stops
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.gear.rules import mark_key
from shop.post.models import Letter
from shop.post.rules import Purpose, State
from shop.sheets.reads import as_csv
from shop.staff.models import Person
from shop.stock.models import Content, Lot, Movement
from shop.stock.rules import Verb, quarter_end
from shop.workshop.reads import columns
from shop.workshop.rules import Refusal

AT_ONCE = 100  # spans in one statement: each is looked up in the index of serials
NOT_DELIVERED = (State.FAILED, State.SUPPRESSED, State.UNCERTAIN)


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
    WHERE (m.id = i.id OR m.merged_into_id = i.id) AND r.anchor BETWEEN %s AND %s AND t.id IS NULL
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


def matches() -> QuerySet[Any]:
    """Matches with what their row shows; their type does not know `became`, the newest answer, empty without one."""
    newest = Answer.objects.filter(match=OuterRef("pk"), corrected_by=None)
    answers = Answer.objects.select_related("by", "job").order_by("pk")
    return (
        Match.objects.select_related(
            "notice__withdrawal", "item__model", "item__owner", "item__merged_into__owner", "lot__part"
        )
        .prefetch_related("item__identifiers", Prefetch("answers", answers))
        .annotate(became=Subquery(newest.values("became")[:1]), here=Exists(_here()))
    )


def _here() -> QuerySet[Job]:
    """The open job of a match's item."""
    return Job.objects.filter(item=OuterRef("item")).exclude(leg__in=ENDED)


def newest(match: Match) -> Answer | None:
    """The answer that stands: the last one, for each but the first corrects the one before."""
    rows = list(match.answers.all())
    return rows[-1] if rows else None


def _of(column: str, where: Any) -> list[tuple[Match, Answer | None]]:
    rows = Match.objects.filter(where, notice__withdrawal=None).select_related("notice")
    return [(row, newest(row)) for row in rows.prefetch_related("answers").order_by("pk")]


def open_matches(job: Job, *, serviced: bool = True) -> list[Refusal]:
    """The notices that a job's gear must not pass, also under a number that was merged into its own."""
    found = []
    for row, answer in _of("item", came_as("item", Item, [job.item.kept.pk])):
        became = answer.became if answer else ""
        if stops(became, serviced=serviced):
            found.append(match_refusal(row.notice.title, became, row.how))
    return found


def put_right_by(job: Job) -> list[Refusal]:
    """Matches that are answered as put right by a job, which therefore does not close otherwise than serviced."""
    rows = Answer.objects.filter(job=job, corrected_by=None).select_related("match__notice").order_by("pk")
    return [
        Refusal("put-right-by-it", f"“{row.match.notice.title}” is answered as put right by this job: correct that first.")
        for row in rows
    ]  # fmt: skip


def lot_blocks(lot: Lot) -> list[Refusal]:
    """Why a lot may not be taken: each notice that matches it, unless it was checked and is fine."""
    return [
        Refusal("blocked-by-notice", f"Lot {lot.number} is blocked by safety notice “{row.notice.title}”.", "lot")
        for row, answer in _of("lot", Q(lot=lot))
        if answer is None or answer.became != Became.FINE
    ]  # fmt: skip


@dataclass(frozen=True)
class Call:
    """An owner whom nobody has reached for sure by letter, with the items that wait for an answer."""

    owner: Customer
    items: list[Match]
    why: str


def unanswered(notice: Notice) -> QuerySet[Any]:
    """The matched items of a notice that nobody has answered for."""
    return matches().filter(notice=notice, item__isnull=False, became=None)


def owners_waiting(notice: Notice, after: int) -> list[int]:
    """The keys, from one on, of owners with an address whose gear waits for an answer."""
    items = unanswered(notice).values("item")
    own = Q(items__in=items, items__merged_into=None) | Q(items__merged__in=items)
    rows = Customer.objects.filter(own, pk__gt=after).exclude(email="")
    return list(rows.order_by("pk").values_list("pk", flat=True).distinct()[:MOST_SHOWN])


def waiting_of(notice: Notice, owners: Collection[int]) -> list[Any]:
    """What waits for an answer of some owners, by their keys; what was merged counts for the owner of the kept item."""
    theirs = Q(item__owner__in=owners) | Q(item__merged_into__owner__in=owners)
    rows = unanswered(notice).filter(theirs).order_by("pk")
    return [row for row in rows if row.item.kept.owner_id in owners]


def letters_of(notice: Notice) -> dict[str, Letter]:
    """The letters of a notice by the uid of their reader."""
    rows = Letter.objects.filter(purpose=Purpose.SAFETY, run=notice.run).defer("body")
    return {row.recipient: row for row in rows}


def call_list(notice: Notice) -> list[Call]:
    """Whom to telephone: without an address, whose letter did not arrive for sure, or with items found since it was written."""
    letters, found = letters_of(notice), dict[int, Call]()
    for row in unanswered(notice).order_by("pk").iterator(chunk_size=2000):
        owner = row.item.kept.owner
        letter = letters.get(str(owner.uid))
        why = _not_reached(owner, letter, row)
        if why:
            found.setdefault(owner.pk, Call(owner, [], why)).items.append(row)
    return sorted(found.values(), key=lambda each: (each.owner.name.casefold(), each.owner.pk))


def _not_reached(owner: Customer, letter: Letter | None, match: Match) -> str:
    if letter is None:
        return "" if owner.email else "no e-mail address"
    if letter.state in NOT_DELIVERED:
        return f"letter {letter.state}"
    return "found after the letter was written" if match.at > letter.written_at else ""


@dataclass(frozen=True)
class Progress:
    """How far a notice is answered: matches by their newest answer, and those without one that are here now."""

    matched: int
    open: int
    open_here: int
    answered: dict[str, int]
    letters: int
    look: Look


def progress(notice: Notice) -> Progress:
    """Counted in one statement, but for the letters."""
    sql = """
    SELECT COALESCE(a.became, ''), COUNT(*), SUM(CASE WHEN m.lot_id IS NOT NULL OR EXISTS (
        SELECT 1 FROM flow_job j WHERE j.item_id = m.item_id AND j.leg NOT IN ('handed_back', 'disposed')
    ) THEN 1 ELSE 0 END)
    FROM safety_match m LEFT JOIN safety_answer a ON a.match_id = m.id
        AND NOT EXISTS (SELECT 1 FROM safety_answer later WHERE later.corrects_id = a.id)
    WHERE m.notice_id = %s GROUP BY 1
    """
    rows = {became: (int(count), int(here)) for became, count, here in columns(sql, notice.pk)}
    answered = Counter({each.value: rows.get(each, (0, 0))[0] for each in Became})
    waiting, here = rows.get("", (0, 0))
    letters = Letter.objects.filter(purpose=Purpose.SAFETY, run=notice.run).count()
    return Progress(waiting + answered.total(), waiting, here, dict(answered), letters, notice.look)


HEADS = [
    "notice", "item or lot", "what", "marks", "how it matches", "found at", "here now", "owner number", "owner", "telephone",
    "e-mail", "answer", "job", "words", "answered at", "answered by",
]  # fmt: skip


def exported(notice: Notice) -> Iterator[list[str]]:
    """Every match of a notice with its standing answer, oldest first."""
    for row in matches().filter(notice=notice).order_by("pk").iterator(chunk_size=2000):
        answer = newest(row)
        yield [
            notice.title, *_thing(row), row.how, row.at.isoformat(timespec="seconds"), *_owner(row),
            *([answer.became, str(answer.job.number) if answer.job else "", answer.words,
               answer.at.isoformat(timespec="seconds"), answer.by.name] if answer else [""] * 5),
        ]  # fmt: skip


def _thing(row: Match) -> list[str]:
    if row.lot:
        return [row.lot.code, str(row.lot.part), f"lot {row.lot.number}"]
    assert row.item is not None
    return [row.item.label, row.item.title, row.item.marks]


def _owner(row: Any) -> list[str]:
    if row.lot:
        return ["yes" if row.lot.on_hand else "no", "", "", "", ""]
    owner = row.item.kept.owner
    return ["yes" if row.here else "no", owner.label, owner.name, owner.phone, owner.email]


def exported_csv(notice: Notice) -> str:
    """The matches as CSV, in which no cell is a formula."""
    return as_csv([HEADS, *exported(notice)])


def exported_json(notice: Notice) -> list[dict[str, str]]:
    """The same by the names of the columns."""
    return [dict(zip(HEADS, row, strict=True)) for row in exported(notice)]


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """The notices that match an item."""
    rows = matches().filter(came_as("item", Item, [item.pk])).order_by("-pk")[:MOST_SHOWN]
    return "safety/panel.html", {"matches": rows}


def job_panel(job: Job) -> tuple[str, dict[str, Any]]:
    """The same on the work sheet of its job."""
    return item_panel(job.item.kept)


def lot_panel(lot: Lot) -> tuple[str, dict[str, Any]]:
    """The notices that match a lot."""
    return "safety/panel.html", {"matches": matches().filter(lot=lot).order_by("-pk")[:MOST_SHOWN]}


def office_panel(person: Person) -> tuple[str, dict[str, Any]]:
    """How many notices stand."""
    return "safety/office_panel.html", {"standing": standing().count()}
