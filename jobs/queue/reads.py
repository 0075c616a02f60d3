"""The queue of the Bench and the board of the day, read in bulk: as many queries for many jobs as for one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Max, Prefetch, Q, QuerySet, prefetch_related_objects

from jobs.estimates.reads import uncovered
from jobs.flow.models import Custody, DropOff, Hold, Job, Move
from jobs.flow.reads import newest_custody, open_jobs
from jobs.flow.rules import ENDED, Held, Leg, Where, following
from jobs.queue.rules import Place, Standing, View, asked, line_up, missing, open_minutes
from jobs.tray.models import TrayPart
from jobs.tray.reads import ended_of
from jobs.tray.rules import Origin
from jobs.worksheet.models import StepDone
from jobs.worksheet.reads import as_done, steps_of
from jobs.worksheet.rules import still_in
from shop.catalogue.models import PlanVersion, Withdrawal
from shop.gear.models import Member
from shop.staff.models import Person
from shop.staff.rules import Can, authorisation_refusals
from shop.stock.reads import in_store
from shop.workshop.reads import today
from shop.workshop.rules import Refusal

MOST = 200  # jobs in one queue
MOST_ON_BOARD = 500


@dataclass(frozen=True)
class Row:
    """A job in its place, with the name of the set its item belongs to."""

    job: Job
    place: Place
    gear_set: str

    @property
    def can_go_on(self) -> bool:
        return not self.place.stops

    @property
    def pickable(self) -> bool:
        """Whether it may be moved on together with others: one's own, and not to be signed off next."""
        return self.can_go_on and self.place.standing.mine and self.place.standing.to != Leg.SIGNED_OFF


@dataclass(frozen=True)
class Group:
    """The jobs of one drop-off, those of a set together; a promise for another day is told beside its job."""

    drop_off: DropOff
    rows: list[Row]

    @property
    def promised_on(self) -> date:
        """The first day that something of it is promised for."""
        return min(row.job.promised_on for row in self.rows)


def view_of(by: Person, asked_for: str) -> View:
    """Whose jobs are shown: what is next, for somebody who works at the bench; else everybody's."""
    return View(asked_for) if asked_for else View.NEXT if by.may(Can.WORK) else View.EVERYBODY


def queue(by: Person, of: View, leg: str = "", technician: Person | None = None) -> dict[str, Any]:
    """The open jobs that are worked on, in order for a person; the most urgent ones where there are very many."""
    rows = _worked_on()
    if of == View.ME:
        rows = rows.filter(technician=by)
    elif of == View.NEXT:
        rows = rows.filter(Q(technician=by) | Q(technician=None))
    if leg:
        rows = rows.filter(leg=leg)
    if technician:
        rows = rows.filter(technician=technician)
    found, day = list(rows[: MOST + 1]), today()
    return {"of": of, "day": day, "more": len(found) > MOST, "rows": _rows(by, of, found[:MOST], day)}


def _worked_on() -> QuerySet[Job]:
    sets = Member.objects.filter(to_day=None).select_related("gear_set")
    rows = _shared().exclude(leg=Leg.SIGNED_OFF)
    return rows.prefetch_related(Prefetch("item__memberships", queryset=sets))


def _shared() -> QuerySet[Job]:
    """Open jobs without the documents of their plans, which `share_plans` reads once each."""
    return open_jobs().select_related("follows").defer("plan_version__document")


def share_plans(jobs: Sequence[Job]) -> None:
    """Let jobs under one plan version share it."""
    versions = PlanVersion.objects.select_related("model").in_bulk({job.plan_version_id for job in jobs})
    for job in jobs:
        job.plan_version = versions[job.plan_version_id]


def _rows(by: Person, of: View, jobs: list[Job], day: date) -> list[Row]:
    share_plans(jobs)
    known, found = {job.number: job for job in jobs}, []
    for place in line_up(_standings(by, of, jobs, day), day):
        job = known[place.standing.number]
        names = [row.gear_set.name for row in job.item.memberships.all()]
        found.append(Row(job, place, names[0] if names else ""))
    return found


def _standings(by: Person, of: View, jobs: list[Job], day: date) -> list[Standing]:
    """What every room knows of the jobs; authorisation is asked of the person where the work would be theirs."""
    covered = uncovered(jobs)
    away = _away(jobs)
    bad = set(Withdrawal.objects.values_list("plan_version", flat=True))
    wanted = _wanted(jobs)
    stored = in_store({part for each in wanted.values() for part in each}, day)
    scopes = _Scopes(by, day) if of != View.EVERYBODY else None
    return [
        Standing(
            number=job.number,
            promised_on=job.promised_on,
            leg=job.leg,
            to=following(job.plan.legs, job.leg) or "",
            mine=job.technician_id == by.pk,
            technician=job.technician.name if job.technician else "",
            holds=tuple(Held(row.kind, row.why) for row in job.open_holds),
            away=away.get(job.line_id, ""),
            withdrawn=any(plan.pk in bad for plan in job.plans),
            unauthorised=scopes.refusals(job) if scopes else (),
            missing=missing(wanted[job.pk], stored),
            uncovered=covered[job.drop_off_id],
        )
        for job in jobs
    ]


class _Scopes:
    """A person's authorisations, read once for any number of jobs; judged by the rule that every action asks."""

    def __init__(self, person: Person, day: date):
        prefetch_related_objects([person], "authorisations__under__authorisations")
        self.person, self.day, self.scopes = person, day, person.authorised_scopes()

    def refusals(self, job: Job) -> tuple[Refusal, ...]:
        model = job.item.model
        return tuple(
            authorisation_refusals(
                self.person.name,
                self.scopes,
                maker=model.maker,
                kind=model.kind,
                kind_label=model.kind_label,
                on=self.day,
                oxygen=job.plan.oxygen,
            )
        )


def _away(jobs: list[Job]) -> dict[int, str]:
    """Where the lines are that are not here."""
    rows = Custody.objects.filter(line__in=[job.line_id for job in jobs]).order_by("pk")
    newest = {line: (where, holder) for line, where, holder in rows.values_list("line", "where", "holder")}
    return {line: holder for line, (where, holder) in newest.items() if where != Where.HERE}


def _wanted(jobs: list[Job]) -> dict[int, Any]:
    """The stocked parts that each job still takes."""
    done, ended = steps_of(jobs, StepDone.objects.all()), ended_of(jobs, TrayPart.objects.all())
    found = {}
    for job in jobs:
        placed = {key for key, row in ended[job.pk].items() if row.origin != Origin.NOTHING}
        found[job.pk] = asked(job.plan, job.leg, placed | still_in(job.plan, as_done(done[job.pk])))
    return found


def groups(rows: Sequence[Row]) -> list[Group]:
    """Rows by drop-off, in the order in which each comes first; within it the items of a set stand together."""
    found: dict[int, list[Row]] = {}
    for row in rows:
        found.setdefault(row.job.drop_off_id, []).append(row)
    return [Group(each[0].job.drop_off, _sets_together(each)) for each in found.values()]


def _sets_together(rows: list[Row]) -> list[Row]:
    first: dict[str, int] = {}
    for n, row in enumerate(rows):
        first.setdefault(row.gear_set or row.job.item.label, n)
    return sorted(rows, key=lambda row: first[row.gear_set or row.job.item.label])


def board() -> dict[str, Any]:
    """The board of the day: what is promised, who has how much, what waits and for what, what is ready or away."""
    found = list(_shared()[: MOST_ON_BOARD + 1])
    jobs, day = found[:MOST_ON_BOARD], today()
    share_plans(jobs)
    work = [job for job in jobs if job.leg != Leg.SIGNED_OFF]
    return {
        "day": day,
        "more": len(found) > MOST_ON_BOARD,
        "late": [job for job in work if job.promised_on < day],
        "days": [
            {"day": each, "jobs": [job for job in work if job.promised_on == each]}
            for each in (day + timedelta(days=n) for n in range(7))
        ],
        "technicians": _load(work),
        "nobody": [job for job in work if job.technician is None],
        "holds": _holds(),
        "go_aheads": _waiting(work),
        "ready": _ready([job for job in jobs if job.leg == Leg.SIGNED_OFF]),
        "outside": _outside(),
        "comebacks": [job for job in jobs if job.follows],
    }


def _load(jobs: list[Job]) -> list[dict[str, Any]]:
    """Of each technician how many jobs, and the minutes of their plans: all, and of steps that are still open."""
    done, found = steps_of(jobs, StepDone.objects.all()), dict[str, dict[str, Any]]()
    for job in jobs:
        if job.technician is None:
            continue
        row = found.setdefault(
            str(job.technician.uid),
            {"technician": job.technician, "jobs": 0, "plan_minutes": 0, "open_step_minutes": 0},
        )
        row["jobs"] += 1
        row["plan_minutes"] += job.plan.minutes
        row["open_step_minutes"] += open_minutes(job.plan, as_done(done[job.pk]))
    return sorted(found.values(), key=lambda row: str(row["technician"].name))


def _holds() -> list[Hold]:
    """The open holds by kind, the oldest first; evidence may stand on an item without a job."""
    rows = Hold.objects.filter(Q(job=None) | ~Q(job__leg__in=ENDED), lifted_at=None)
    rows = rows.select_related("job__item__model", "item__model")
    return list(rows.order_by("kind", "at", "pk")[:MOST])


def _waiting(jobs: list[Job]) -> list[dict[str, Any]]:
    """The drop-offs whose go-ahead does not cover the work, since they came."""
    why = uncovered(jobs)
    waits = {job.drop_off_id: job.drop_off for job in jobs if why[job.drop_off_id]}
    return [
        {"drop_off": row, "since": row.at, "says": why[pk][0].sentence}
        for pk, row in sorted(waits.items(), key=lambda pair: (pair[1].at, pair[0]))
    ]


def _ready(jobs: list[Job]) -> list[dict[str, Any]]:
    """What is signed off, since when."""
    rows = Move.objects.filter(job__in=jobs, to_leg=Leg.SIGNED_OFF)
    since = dict(rows.values_list("job").annotate(Max("at")))
    found = [{"job": job, "since": since[job.pk]} for job in jobs]
    return sorted(found, key=lambda row: (row["since"], row["job"].pk))


def _outside() -> list[Custody]:
    """What is at an outside station, since when."""
    rows = newest_custody().filter(where=Where.OUTSIDE)
    return list(rows.select_related("line__drop_off", "line__item__model").order_by("at", "pk")[:MOST])
