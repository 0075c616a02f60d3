"""What the passage itself knows of a job, lists of jobs, panels on shop pages, and what the find box knows."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery
from django.urls import reverse

from jobs.flow.models import Custody, DropOff, Hold, Job, Line
from jobs.flow.rules import ENDED, OPEN, Contents, Held, HoldKind, Leg, Where, held_refusals
from shop.catalogue.models import PlanVersion, Withdrawal
from shop.catalogue.reads import Pinned, plan_of
from shop.customers.models import Customer
from shop.gases.reads import setting
from shop.gases.rules import Use, plan_refusals, use_of
from shop.gear.models import Item, Member, item_label
from shop.health.rules import Figure
from shop.search.rules import Kind, Thing
from shop.staff.models import Person
from shop.staff.rules import Can
from shop.workshop.reads import columns, instant, now, uid
from shop.workshop.rules import Refusal, merged_refusals


def jobs() -> QuerySet[Job]:
    """Jobs with what their row on a page or in the API shows; documents of plans are read where they are not known yet."""
    rows = Job.objects.select_related(
        "item__model",
        "item__owner",
        "plan_version__model",
        "technician",
        "line__drop_off",
        "drop_off__customer",
    )
    return rows.defer("plan_version__document").prefetch_related(
        "item__identifiers", "more_plans", "holds", "item__holds"
    )


def open_jobs() -> QuerySet[Job]:
    """Jobs that have not ended, the most urgent first; asked as the index `job_open_queue` states it, or it is not used."""
    return jobs().filter(leg__in=OPEN).order_by("promised_on", "pk")


def backs(job: Job) -> list[str]:
    """The legs that the job went back to, oldest first; how many there are dates a row without a clock."""
    return backs_of([job.pk])[job.pk]


def backs_of(keys: Iterable[int]) -> dict[int, list[str]]:
    """The same of many jobs, by their primary keys."""
    found: dict[int, list[str]] = {pk: [] for pk in keys}
    sql = "SELECT job_id, to_leg FROM flow_move WHERE back AND job_id = ANY(%s) ORDER BY id"
    for pk, leg in columns(sql, list(found)):
        found[pk].append(leg)
    return found


def pinned_of(jobs: Collection[int]) -> dict[int, list[Pinned]]:
    """Of jobs, by their primary keys, every version that is pinned; the first one first."""
    sql = """
    WITH pinned AS (
        SELECT id AS job_id, plan_version_id, 0 AS n FROM flow_job WHERE id = ANY(%s) UNION ALL
        SELECT job_id, planversion_id, planversion_id FROM flow_job_more_plans WHERE job_id = ANY(%s)
    )
    SELECT pinned.job_id, p.id, p.uid, p.key, p.digest, w.id FROM pinned
    JOIN catalogue_planversion p ON p.id = pinned.plan_version_id
    LEFT JOIN catalogue_withdrawal w ON w.plan_version_id = p.id ORDER BY pinned.job_id, pinned.n
    """
    found: dict[int, list[Pinned]] = {}
    for job, pk, kept, key, digest, withdrawal in columns(sql, list(jobs), list(jobs)):
        plan = plan_of(pk, digest)
        found.setdefault(job, []).append(Pinned(uid(kept), key, plan, withdrawal is not None))
    return found


@dataclass(frozen=True)
class OpenHold:
    """A hold that stands, on a job or on its item."""

    uid: UUID
    on_item: bool
    kind: str
    why: str
    at: datetime


# What is kept as evidence of the sets that items belong to now, beside the items themselves.
_SET_KEPT = """
    FROM gear_member mine
    JOIN gear_member theirs ON theirs.gear_set_id = mine.gear_set_id AND theirs.to_day IS NULL AND theirs.item_id <> mine.item_id
    JOIN flow_hold h ON h.item_id = theirs.item_id AND h.lifted_at IS NULL
    JOIN gear_item i ON i.id = h.item_id
    WHERE mine.item_id = ANY(%s) AND mine.to_day IS NULL
"""


def holds_of(items: Mapping[int, int]) -> dict[int, list[OpenHold]]:
    """Of jobs, by primary key with that of their item, the open holds: the job's own, its item's, then what of its set is evidence."""
    sql = f"""
    SELECT job_id, item_id, uid, kind, why, at, NULL, CASE WHEN item_id IS NULL THEN 0 ELSE 1 END, id FROM flow_hold
    WHERE lifted_at IS NULL AND (job_id = ANY(%s) OR item_id = ANY(%s)) UNION ALL
    SELECT NULL, mine.item_id, h.uid, h.kind, h.why, h.at, i.number, 2, h.id {_SET_KEPT} ORDER BY 8, 9
    """  # noqa: S608 - a text of ours
    jobs, found = {item: pk for pk, item in items.items()}, {pk: list[OpenHold]() for pk in items}
    for job, item, kept, kind, why, at, number, *_ in columns(sql, list(items), list(jobs), list(jobs)):
        pk, on_item = jobs[item] if job is None else job, job is None
        why = f"{item_label(number)} of its set. {why}" if number else why
        found[pk].append(OpenHold(uid(kept), on_item, kind, why, instant(at)))
    return found


def held(job: Job) -> tuple[Held, ...]:
    """The open holds of a job and of its item, and what of the item's set is kept as evidence."""
    return _held(job.pk, [job.item_id])


def evidence_refusals(items: Iterable[int]) -> list[Refusal]:
    """Why nothing is done to items, by their keys: they, or something of their sets, are kept as evidence."""
    those = list(items)
    return held_refusals(_held(0, those), Leg.STRIPPING, evidence_only=True) if those else []


def _held(job: int, items: list[int]) -> tuple[Held, ...]:
    sql = f"""
    SELECT h.id, h.kind, h.why, i.number FROM flow_hold h LEFT JOIN gear_item i ON i.id = h.item_id
    WHERE h.lifted_at IS NULL AND (h.job_id = %s OR h.item_id = ANY(%s)) UNION
    SELECT h.id, h.kind, h.why, i.number {_SET_KEPT} ORDER BY 1
    """  # noqa: S608 - a text of ours
    rows = columns(sql, job, items, items)
    return tuple(Held(kind, f"{item_label(n)}. {why}" if n else why) for _, kind, why, n in rows)


def lines_here(item: Item) -> QuerySet[Line]:
    """The lines of an item whose gear has not gone."""
    newest = Custody.objects.filter(line=OuterRef("pk")).order_by("-pk").values("where")[:1]
    return Line.objects.filter(item=item).annotate(newest=Subquery(newest)).exclude(newest=Where.GONE)


def held_owners() -> QuerySet[Any, Any]:
    """The owners, by their keys, of what is kept as evidence."""
    return Item.objects.filter(holds__kind=HoldKind.EVIDENCE, holds__lifted_at=None).values("owner")


def evidence_items() -> QuerySet[Item]:
    """The items that are kept as evidence, and what belongs to a set with one of them now."""
    held = Hold.objects.filter(kind=HoldKind.EVIDENCE, lifted_at=None).values("item")
    sets = Member.objects.filter(item__in=held, to_day=None).values("gear_set")
    mates = Member.objects.filter(gear_set__in=sets, to_day=None).values("item")
    return Item.objects.filter(Q(pk__in=held) | Q(pk__in=mates))


def work_refusals(job: Job) -> list[Refusal]:
    """Why nobody may lay hands on the gear just now: it is evidence, or it is not in the house."""
    return [*held_refusals(held(job), Leg.STRIPPING, evidence_only=True), *here(job)]


def done_refusals(who: Person, when: datetime, job: Job) -> list[Refusal]:
    """Work is recorded for somebody who works at the bench, and between the drop-off and now."""
    found = []
    if not who.may(Can.WORK):
        found.append(Refusal("not-a-technician", f"{who.name} does not work at the bench.", "done_by"))
    if when > now():
        found.append(Refusal("in-the-future", "It cannot have been done later than now.", "done_at"))
    if when < job.drop_off.at:
        found.append(Refusal("before-drop-off", "The gear was not here yet at that time.", "done_at"))
    return found


def at_hand(line: Line) -> Custody:
    """Where a line's gear is by the newest row."""
    return Custody.objects.filter(line=line).order_by("-pk")[0]


def newest_custody() -> QuerySet[Custody]:
    """Of each line its newest row, which holds."""
    rows = Custody.objects.filter(line=OuterRef("line")).order_by("-pk")
    return Custody.objects.filter(pk=Subquery(rows.values("pk")[:1]))


def bags() -> QuerySet[Line]:
    """Lines without a job that are still ours to give back: bags to be itemised, parts, what came along."""
    gone = newest_custody().filter(line__job=None, where=Where.GONE)
    return Line.objects.filter(job=None).exclude(pk__in=gone.values("line"))


def here(job: Job) -> tuple[Refusal, ...]:
    """Gear is worked on and handed back only while it is in the workshop."""
    present = at_hand(job.line)
    if present.where == Where.HERE:
        return ()
    return (Refusal("not-here", f"{job.item.label} is not here: {present.holder}."),)


def withdrawn(job: Job) -> tuple[Refusal, ...]:
    """A plan that was withdrawn stops its open jobs."""
    rows = Withdrawal.objects.filter(plan_version__in=[plan.pk for plan in job.plans])
    return tuple(
        Refusal("plan-withdrawn", f"{row.plan_version} was withdrawn: {row.reason}")
        for row in rows.select_related("plan_version__model")
    )


def condemned(item: Item) -> bool:
    """Whether the newest round of a job of the item, or of one merged into it, condemned it."""
    sql = """
    SELECT r.id FROM flow_job j JOIN flow_round r ON r.job_id = j.id
    WHERE j.item_id IN (SELECT id FROM gear_item WHERE id = %s OR merged_into_id = %s) AND r.outcome = 'condemned'
    AND NOT EXISTS (SELECT 1 FROM flow_round newer WHERE newer.job_id = j.id AND newer.n > r.n)
    """
    return bool(columns(sql, item.pk, item.pk))


def erased_refusals(drop_off: DropOff) -> list[Refusal]:
    """Why nothing new is written to a locked drop-off: its customer was erased."""
    return merged_refusals(drop_off.customer.kept)


def job_refusals(item: Item, plans: Sequence[PlanVersion], follows: Job | None, i: int) -> list[Refusal]:
    """Why an item may not get a job under these plans; `i` is its line on the form, from 0."""
    found = merged_refusals(item, f"lines-{i}-item")
    if Job.objects.filter(item=item).exclude(leg__in=ENDED).exists():
        found.append(Refusal("open-job", f"{item.label} has an open job already.", f"lines-{i}-item"))
    if condemned(item):
        said = f"{item.label} was condemned here; it takes no further service."
        found.append(Refusal("condemned", said, f"lines-{i}-item"))
    if follows is not None and (follows.item.kept != item or follows.leg not in ENDED):
        said = "It may follow only an earlier job of the same item that has ended."
        found.append(Refusal("follows-another", said, f"lines-{i}-follows"))
    return [*found, *plans_refusals(item, plans, f"lines-{i}-plan")]


def plans_refusals(item: Item, plans: Sequence[PlanVersion], pointer: str) -> list[Refusal]:
    """Why these plans cannot stand together on an item's job."""
    found = []
    if any(plan.model_id != item.model_id for plan in plans):
        said = f"This plan is for another model than {item.label}, {item.title}."
        found.append(Refusal("wrong-plan", said, pointer))
    found += [
        Refusal("plan-withdrawn", f"{row.plan_version} was withdrawn.", pointer)
        for row in Withdrawal.objects.filter(plan_version__in=plans).select_related("plan_version__model")
    ]
    if len({plan.key for plan in plans}) < len(plans):
        found.append(Refusal("plan-twice", "Two versions of one plan cannot stand on a job.", pointer))
    return found


def use_of_job(job: Job) -> Use:
    """The gas that a job's gear is used with, and by which rule."""
    return use_of(job.item.oxygen, oxygen_plan=job.plan.oxygen, threshold=setting().threshold)


def unfit_plan(job: Job) -> list[Refusal]:
    """Why the plans of a job are not for the gas its gear is used with; nothing where no gas was stated of it."""
    if job.item.oxygen is None:
        return []
    return plan_refusals(use_of_job(job), oxygen_plan=job.plan.oxygen)


def facts(job: Job) -> tuple[Refusal, ...]:
    """What is missing at check-in: a mark that was read or is known to be unreadable, a look inside, a plan for its gas."""
    found = []
    if not job.item.identifiers.all():
        found.append(Refusal("not-identified", f"{job.item.label} has no mark on record."))
    if job.line.contents == Contents.UNKNOWN:
        found.append(Refusal("contents-unknown", "Nobody has noted yet whether there is gas inside."))
    return (*found, *unfit_plan(job))


def emptied(job: Job) -> tuple[Refusal, ...]:
    """Gear that came under pressure is confirmed empty by name before anything is loosened."""
    if job.line.contents == Contents.NO_GAS or job.line.emptied_by_id:
        return ()
    return (
        Refusal("under-pressure", "It came under pressure: somebody must confirm by name that it is empty."),
    )


def customer_panel(customer: Customer) -> tuple[str, dict[str, Any]]:
    """The open jobs and the bags of the customer and of those merged into them."""
    theirs = brought_by("drop_off__customer", customer)
    rows = bags().filter(theirs).select_related("drop_off").order_by("pk")
    return "flow/jobs_panel.html", {"jobs": open_jobs().filter(theirs), "bags": rows}


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """Every job that the item and those merged into it ever had."""
    rows = jobs().filter(brought_by("item", item)).order_by("-pk")
    free = item.merged_into is None and not rows.exclude(leg__in=ENDED).exists()
    holds = item.holds.filter(lifted_at=None)
    told = {"jobs": rows, "item": item, "holds": holds, "free": free, "first": "flow/kept.html"}
    return "flow/jobs_panel.html", told


def drop_off_thing(drop_off: DropOff) -> Thing:
    """A drop-off as it is found: by its ticket. Its customer is found under their name, which may change."""
    return Thing(
        subject=f"drop-off:{drop_off.uid}",
        kind=Kind.DROP_OFF,
        number=drop_off.label,
        title=f"Drop-off {drop_off.label}",
        address=reverse("drop_off", args=[drop_off.uid]),
    )


def line_thing(line: Line) -> Thing:
    """A line as it is found: by its bag tag, on the page of its drop-off."""
    return Thing(
        subject=f"line:{line.uid}",
        kind=Kind.LINE,
        number=line.tag,
        title=f"Bag {line.tag}",
        address=reverse("drop_off", args=[line.drop_off.uid]),
    )


def job_thing(job: Job) -> Thing:
    """A job as it is found: by its tray. The model is that of its pinned plan, which never changes."""
    model = job.plan_version.model
    return Thing(
        subject=f"job:{job.uid}",
        kind=Kind.JOB,
        number=str(job.number),
        title=f"Tray {job.number}, {model.kind_label}, {model}",
        note=f"bag {job.line.tag}",
        address=reverse("job", args=[job.uid]),
    )


def findable_drop_offs() -> tuple[QuerySet[DropOff], Callable[[DropOff], Thing]]:
    """Every drop-off, for the find box."""
    return DropOff.objects.all(), drop_off_thing


def findable_lines() -> tuple[QuerySet[Line], Callable[[Line], Thing]]:
    """Every line, for the find box."""
    return Line.objects.select_related("drop_off"), line_thing


def findable_jobs() -> tuple[QuerySet[Job], Callable[[Job], Thing]]:
    """Every job, for the find box."""
    return Job.objects.select_related("plan_version__model", "line__drop_off"), job_thing


def brought_by(column: str, row: Customer | Item) -> Q:
    """What points at a row, or at one that was merged into it; an OR over two tables would read both of them whole."""
    return came_as(column, type(row), [row.pk])


def came_as(column: str, model: type[Customer | Item], keys: Any) -> Q:
    """The same of several rows by their keys."""
    these = model._default_manager.filter(Q(pk__in=keys) | Q(merged_into__in=keys))
    return Q(**{f"{column}__in": these})


def of_item(item: Item) -> QuerySet[Job]:
    """Every job of an item, whichever of the items that were merged into one it was checked in as."""
    return Job.objects.filter(brought_by("item", item.kept))


def item_subjects(item: Item) -> list[str]:
    """The chains of the item's jobs."""
    sql = """
    SELECT uid FROM flow_job WHERE item_id IN (SELECT id FROM gear_item WHERE id = %s OR merged_into_id = %s) ORDER BY id
    """
    return [f"job:{uid(kept)}" for (kept,) in columns(sql, item.pk, item.pk)]


def customer_subjects(customer: Customer) -> list[str]:
    """The chains of the customer's drop-offs and of the jobs of these."""
    drop_offs = DropOff.objects.filter(brought_by("customer", customer)).order_by("pk")
    jobs = Job.objects.filter(brought_by("drop_off__customer", customer)).order_by("pk")
    found = [f"drop-off:{uid}" for uid in drop_offs.values_list("uid", flat=True)]
    return found + [f"job:{uid}" for uid in jobs.values_list("uid", flat=True)]


def job_subjects(job: Job) -> list[str]:
    """The chains of a job and of its drop-off, where the go-ahead and the hand-back stand."""
    return [f"job:{job.uid}", f"drop-off:{job.drop_off.uid}"]


def figures() -> list[Figure]:
    """How many jobs stand on each leg, and what holds them."""
    legs = dict(Job.objects.values_list("leg").annotate(Count("pk")))
    held = Hold.objects.filter(lifted_at__isnull=True).count()
    return [
        Figure("jobs", "Jobs by leg.", label="leg", values={each: legs.get(each, 0) for each in Leg}),
        Figure("open_holds", "Holds that stand.", held),
    ]
