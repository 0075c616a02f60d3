"""What stands open of what notices match, whom to telephone, how far it is, and all of it as a file."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet, Subquery

from jobs.flow.models import DropOff, Job, Line
from jobs.flow.reads import came_as
from jobs.flow.rules import ENDED, Leg, Outcome
from jobs.matches.models import Answer, Writing
from jobs.matches.rules import Became, match_refusal, stops
from jobs.safety.models import Look, Match, Notice
from jobs.safety.rules import MOST_SHOWN
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.post.models import Letter
from shop.post.rules import Purpose, State
from shop.sheets.reads import as_csv
from shop.stock.models import Lot
from shop.workshop.reads import columns
from shop.workshop.rules import Refusal

NOT_DELIVERED = (State.FAILED, State.SUPPRESSED, State.UNCERTAIN, State.STOPPED)


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
    rows = Match.objects.filter(where, notice__withdrawal=None).select_related("notice", "item")
    return [(row, newest(row)) for row in rows.prefetch_related("answers").order_by("pk")]


def open_matches(item: Item, *, serviced: bool = True) -> list[Refusal]:
    """The notices that an item must not pass, also under a number that was merged into its own."""
    return open_matches_of({item.pk: serviced})[item.pk]


def open_matches_of(items: Mapping[int, bool]) -> dict[int, list[Refusal]]:
    """The same of several items, by their keys with whether each is to leave as serviced."""
    found: dict[int, list[Refusal]] = {pk: [] for pk in items}
    for row, answer in _of("item", came_as("item", Item, list(items))):
        assert row.item is not None
        became = answer.became if answer else ""
        pk = row.item.pk if row.item.pk in items else row.item.merged_into_id
        assert pk is not None
        if stops(became, serviced=items[pk]):
            found[pk].append(match_refusal(row.notice.title, became, row.how))
    return found


def put_right_by(job: Job) -> list[Refusal]:
    """Matches that are answered as put right by a job, which therefore does not close otherwise than serviced."""
    rows = Answer.objects.filter(job=job, corrected_by=None).select_related("match__notice").order_by("pk")
    return [
        Refusal("put-right-by-it", f"“{row.match.notice.title}” is answered as put right by this job: correct that first.")
        for row in rows
    ]  # fmt: skip


def lot_blocks() -> dict[tuple[int, str], list[Refusal]]:
    """The lots that may not be taken, by part and number, with each notice that matches one, or the kit it came out of.

    A lot that was checked and is fine may be.
    """
    newest = Answer.objects.filter(match=OuterRef("pk"), corrected_by=None)
    rows = Match.objects.filter(lot__isnull=False, notice__withdrawal=None)
    names = ("pk", "notice__title", "lot__number", "lot__part", "lot__part__contents__part")
    answered = rows.annotate(became=Subquery(newest.values("became")[:1]))
    bad = answered.filter(Q(became=None) | ~Q(became=Became.FINE))
    found: dict[tuple[int, str], dict[int, Refusal]] = {}
    for pk, title, number, part, inside in bad.order_by("pk").values_list(*names):
        said = Refusal("blocked-by-notice", f"Lot {number} is blocked by safety notice “{title}”.", "lot")
        for each in {part, inside} - {None}:
            found.setdefault((each, number), {})[pk] = said
    return {lot: list(told.values()) for lot, told in found.items()}


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
    letters, found, rows = letters_of(notice), dict[int, Call](), unanswered(notice)
    if not letters:  # whoever has an address waits for one
        rows = rows.filter(Q(item__owner__email="") | Q(item__merged_into__owner__email=""))
    for row in rows.order_by("pk").iterator(chunk_size=2000):
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
    writing: bool
    look: Look


def progress(notice: Notice) -> Progress:
    """Counted in one statement, but for the letters."""
    sql = """
    SELECT COALESCE(a.became, ''), COUNT(*), SUM(CASE WHEN m.lot_id IS NOT NULL OR EXISTS (
        SELECT 1 FROM flow_job j WHERE j.item_id = m.item_id AND j.leg NOT IN ('handed_back', 'disposed')
    ) THEN 1 ELSE 0 END)
    FROM safety_match m LEFT JOIN matches_answer a ON a.match_id = m.id
        AND NOT EXISTS (SELECT 1 FROM matches_answer later WHERE later.corrects_id = a.id)
    WHERE m.notice_id = %s GROUP BY 1
    """
    rows = {became: (int(count), int(here)) for became, count, here in columns(sql, notice.pk)}
    answered = Counter({each.value: rows.get(each, (0, 0))[0] for each in Became})
    waiting, here = rows.get("", (0, 0))
    letters = Letter.objects.filter(purpose=Purpose.SAFETY, run=notice.run).count()
    writing = Writing.objects.filter(notice=notice, wanted=True).exists()
    return Progress(waiting + answered.total(), waiting, here, dict(answered), letters, writing, notice.look)


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
    return "matches/panel.html", {"matches": rows}


def job_panel(job: Job) -> tuple[str, dict[str, Any]]:
    """The same on the work sheet of its job."""
    return item_panel(job.item.kept)


def is_noticed() -> Any:
    """Whether a notice waits for an answer about a row's `item`, also under a number that was merged into it."""
    answered = Exists(Answer.objects.filter(match=OuterRef("pk")))
    waiting = Match.objects.filter(~answered, notice__withdrawal=None)
    return Exists(waiting.filter(item=OuterRef("item"))) | Exists(
        waiting.filter(item__merged_into=OuterRef("item"))
    )


def drop_off_panel(drop_off: DropOff) -> tuple[str, dict[str, Any]]:
    """The notices that stop gear of a drop-off which is here, for whoever takes it in or is asked for it."""
    lines = Line.objects.filter(drop_off=drop_off, item__isnull=False).exclude(job__leg__in=ENDED)
    lines = lines.select_related("job", "item__model", "item__merged_into__model").order_by("n")
    items, serviced = {}, {}
    for line in lines.prefetch_related("job__rounds"):
        assert line.item is not None
        job: Job | None = getattr(line, "job", None)
        item = line.item.kept
        items[item.pk] = item
        serviced[item.pk] = job is None or job.leg != Leg.SIGNED_OFF or job.outcome == Outcome.SERVICED
    stopped = open_matches_of(serviced) if items else {}
    return "matches/drop_off.html", {
        "stopped": [(items[pk], found) for pk, found in stopped.items() if found]
    }


def lot_panel(lot: Lot) -> tuple[str, dict[str, Any]]:
    """The notices that match a lot."""
    return "matches/panel.html", {"matches": matches().filter(lot=lot).order_by("-pk")[:MOST_SHOWN]}
