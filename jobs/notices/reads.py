"""Which jobs rest on what is doubted, which doubts stand open, and who must be told."""

from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.db.models.functions import TruncDate

from jobs.bench.models import Attempt
from jobs.bench.reads import attempts, tested_anew
from jobs.flow.models import Job
from jobs.flow.reads import backs, came_as, of_item
from jobs.flow.rules import ENDED
from jobs.notices.models import Affected, Answer, Doubt
from jobs.notices.rules import About, Became, Subject, Work, choices_of, in_spite, touches
from jobs.tray.models import TrayPart
from jobs.tray.reads import ended_parts, lots_of, overrode_doubt
from jobs.worksheet.models import StepDone
from jobs.worksheet.reads import done_steps
from shop.gear.models import Item
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.staff.models import Person
from shop.stock.models import Lot
from shop.workshop.reads import zone
from shop.workshop.rules import Refusal


def subject_of(doubt: Doubt) -> Subject:
    """The doubt as the rules look at it; a kit's lot stands for the pieces that came out of it."""
    lots: frozenset[tuple[int, str]] = frozenset()
    if doubt.lot:
        parts = {doubt.lot.part_id, *(each.part_id for each in doubt.lot.part.contents.all())}
        lots = frozenset((part, doubt.lot.number) for part in parts)
    row = getattr(doubt, f"{doubt.about}_id")
    if doubt.from_day and doubt.to_day:
        return Subject(doubt.about, row, doubt.from_day, doubt.to_day, lots, doubt.until)
    return Subject(doubt.about, row, lots=lots, raised=doubt.at)


def work_of(job: Job, here: ZoneInfo) -> list[Work]:
    """Everything on which the present record of a job rests; the days are those of the workshop's zone."""
    present = len(backs(job))
    found = [Work(About.PLAN, plan.pk) for plan in job.plans]
    rows = attempts(job)
    replaced = tested_anew(rows)
    for attempt in rows:
        # A verdict that stopped counting because of another item's work still stands in this job's record.
        if attempt.phase == "final" and attempt.round.job_id == job.pk and attempt.backs != present:
            continue
        if attempt.pk in replaced:
            continue
        people = frozenset({attempt.done_by_id, attempt.recorded_by_id})
        day = attempt.done_at.astimezone(here).date()
        found.append(Work(About.VERDICT, attempt.pk, day, people, attempt.instrument_id, at=attempt.done_at))
    for step in done_steps(job).values():
        people = frozenset({step.done_by_id, step.recorded_by_id})
        day = step.done_at.astimezone(here).date()
        found.append(Work(About.STEP, step.pk, day, people, step.wrench_id, at=step.done_at))
    return found + [_ended(part, here) for part in ended_parts(job).values()]


def _ended(part: TrayPart, here: ZoneInfo) -> Work:
    lot = (part.movement.lot.part_id, part.movement.lot.number) if part.movement else None
    people = frozenset({part.by_id, part.recorded_by_id})
    overrode = overrode_doubt(part.overridden, part.recorded_at)
    return Work("", part.pk, part.at.astimezone(here).date(), people, lot=lot, overrode=overrode)


def resting(doubt: Doubt) -> list[int]:
    """The jobs whose present record rests on what is doubted: the database narrows, the rule decides."""
    if doubt.lot:  # told by the tray alone: read at once of all jobs, maybe hundreds
        subject = subject_of(doubt)
        works = lots_of(doubt.lot.number, {part for part, _ in subject.lots})
        return sorted(
            pk
            for pk, lots in works.items()
            if any(touches(subject, Work("", 0, lot=each.lot, overrode=each.overrode)) for each in lots)
        )
    near = Job.objects.filter(pk__in=_near(doubt)).order_by("pk")
    near = near.prefetch_related("plan_version", "more_plans")
    if doubt.about == About.PLAN:  # a pinned plan is never superseded
        return list(near.values_list("pk", flat=True))
    subject, here = subject_of(doubt), zone()
    return [job.pk for job in near if any(touches(subject, work) for work in work_of(job, here))]


def _near(doubt: Doubt) -> set[int]:
    """Jobs that ever had something to do with what is doubted."""
    here = zone()
    tried = Attempt.objects.annotate(day=TruncDate("done_at", tzinfo=here))
    steps = StepDone.objects.annotate(day=TruncDate("done_at", tzinfo=here))
    parts = TrayPart.objects.annotate(day=TruncDate("at", tzinfo=here))
    period = Q(day__gte=doubt.from_day, day__lte=doubt.to_day) if doubt.from_day else Q()
    match doubt.about:
        case About.VERDICT:
            return _tested(tried.filter(pk__in=[doubt.attempt_id]))
        case About.STEP:
            return set(steps.filter(pk__in=[doubt.step_id]).values_list("round__job_id", flat=True))
        case About.INSTRUMENT:
            used = steps.filter(period, wrench=doubt.instrument_id).values_list("round__job_id", flat=True)
            return _tested(tried.filter(period, instrument=doubt.instrument_id)) | set(used)
        case About.PERSON:
            did = Q(done_by=doubt.person_id) | Q(recorded_by=doubt.person_id)
            took = Q(by=doubt.person_id) | Q(recorded_by=doubt.person_id)
            done = set(steps.filter(period & did).values_list("round__job_id", flat=True))
            ended = set(parts.filter(period & took).values_list("round__job_id", flat=True))
            return _tested(tried.filter(period & did)) | done | ended
    pinned = Q(plan_version=doubt.plan_version_id) | Q(more_plans=doubt.plan_version_id)
    return set(Job.objects.filter(pinned).values_list("pk", flat=True))


def _tested(rows: QuerySet[Attempt]) -> set[int]:
    """The jobs of some verdicts, and those that were tested beside them."""
    found = list(rows.values_list("round__job_id", "beside"))
    uids = {each["job"] for _, beside in found for each in beside if each["job"]}
    beside = Job.objects.filter(uid__in=uids).values_list("pk", flat=True) if uids else []
    return {job for job, _ in found} | set(beside)


def _is_open() -> Any:
    """Whether a doubt waits for an answer: for one of the jobs it touched, or for itself where it touched none."""
    touched = Affected.objects.filter(doubt=OuterRef("pk"))
    return Exists(touched.filter(answer=None)) | (~Exists(touched) & Q(answer=None))


def doubts() -> QuerySet[Any]:
    """Doubts with what their row on a page or in the API shows; their type does not know the three counts."""
    return (
        Doubt.objects.select_related(
            "attempt__round__job__plan_version",
            "step__round__job__plan_version",
            "instrument",
            "person",
            "lot__part",
            "plan_version__model",
            "by",
            "answer__by",
        )
        .prefetch_related(
            "attempt__round__job__more_plans", "step__round__job__more_plans", "lot__part__contents"
        )
        .annotate(
            touched=Count("affected", distinct=True),
            answered=Count("affected__answer", distinct=True),
            is_open=_is_open(),
        )
    )


def open_doubts(job: Job) -> tuple[Refusal, ...]:
    """The open doubts that a job must not pass: on its gear, or on what its present record rests on.

    Work that came to rest on something after it was doubted is found here too; a job for which it was answered that
    the work stands is not asked again. What the job took in spite of a doubt waits for an answer and stops nothing.
    """
    rows = list(doubts().filter(is_open=True).prefetch_related("lot__part__contents").order_by("pk"))
    if not rows:
        return ()
    told = Affected.objects.filter(doubt__in=rows, job__in=of_item(job.item))
    waiting = list(told.filter(answer=None).values_list("doubt_id", "job_id"))
    settled = set(told.filter(job=job, answer__became=Became.STANDS).values_list("doubt_id", flat=True))
    work = work_of(job, zone())
    return tuple(
        Refusal("doubt", f"An open doubt, about {row.label}: {row.why}")
        for row in rows
        if any(
            doubt == row.pk and (other != job.pk or not in_spite(subject_of(row), work))
            for doubt, other in waiting
        )
        or (row.pk not in settled and any(touches(subject_of(row), each) for each in work))
    )


def doubts_of_lot(lot: Lot) -> list[Doubt]:
    """The open doubts about a lot, or about the kit that its pieces came out of."""
    rows = doubts().filter(is_open=True, about=About.LOT, lot__number=lot.number).order_by("pk")
    asked = Work("", 0, lot=(lot.part_id, lot.number))
    return [row for row in rows if touches(subject_of(row), asked)]


def lot_blocks() -> dict[tuple[int, str], list[Refusal]]:
    """The lots that may not be taken, by part and number, with each open doubt about it or about the kit it came out of."""
    rows = Doubt.objects.filter(_is_open(), about=About.LOT).order_by("pk")
    found: dict[tuple[int, str], dict[int, Refusal]] = {}
    names = ("pk", "why", "lot__number", "lot__part", "lot__part__contents__part")
    for pk, why, number, part, inside in rows.values_list(*names):
        said = Refusal("blocked", f"Lot {number} is blocked by a doubt: {why}", "lot")
        for each in {part, inside} - {None}:
            found.setdefault((each, number), {})[pk] = said
    return {lot: list(doubted.values()) for lot, doubted in found.items()}


def lot_panel(lot: Lot) -> tuple[str, dict[str, Any]]:
    """What blocks a lot, on its page."""
    return "notices/lot_panel.html", {"doubts": doubts_of_lot(lot)}


@dataclass(frozen=True)
class Standing:
    """An affected job as the page and the API show it: whether its gear is here, who has it, what was written."""

    affected: Affected
    present: Job | None
    letter: Letter | None

    @property
    def job(self) -> Job:
        return self.affected.job

    @property
    def answer(self) -> Answer | None:
        return getattr(self.affected, "answer", None)

    @property
    def here(self) -> bool:
        return self.present is not None

    @property
    def choices(self) -> tuple[Became, ...]:
        """How it may be answered."""
        return choices_of(self.job.leg, self.job.outcome, here=self.here)


def standings(rows: QuerySet[Affected]) -> list[Standing]:
    """Affected jobs of doubts, whether each one's gear is here, and the letter to its owner."""
    found = list(
        rows.select_related("doubt", "job__item__owner", "job__item__model", "answer__by")
        .select_related("job__item__merged_into__owner")
        .prefetch_related("job__item__identifiers", "job__rounds")
        .order_by("pk")
    )
    items = {row.job.item.kept.pk for row in found}
    open_ones = Job.objects.filter(came_as("item", Item, items)).exclude(leg__in=ENDED)
    present = {job.item.kept.pk: job for job in open_ones.select_related("item__merged_into")}
    runs = {row.doubt.run for row in found}
    written = Letter.objects.filter(run__in=runs, purpose=Purpose.SAFETY).defer("body")
    letters = {(each.run, each.recipient): each for each in written}
    return [
        Standing(
            row,
            present.get(row.job.item.kept.pk),
            letters.get((row.doubt.run, str(row.job.item.kept.owner.uid))),
        )
        for row in found
    ]


def office_panel(person: Person) -> tuple[str, dict[str, Any]]:
    """How many doubts stand open."""
    return "notices/office_panel.html", {"open": doubts().filter(is_open=True).count()}


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """The doubts that wait for an answer about the item."""
    rows = doubts().filter(pk__in=Affected.objects.filter(job__in=of_item(item), answer=None).values("doubt"))
    return "notices/item_panel.html", {"doubts": rows.order_by("pk")}
