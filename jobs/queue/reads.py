"""The queue of the Bench and the board of the day, read in bulk: as many queries for many jobs as for one."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Max, Q
from django.urls import reverse

from jobs.estimates.reads import uncovered
from jobs.flow.models import Custody, DropOff, Hold, Job, Move
from jobs.flow.reads import OpenHold, holds_of, jobs, newest_custody, open_jobs, pinned_of
from jobs.flow.rules import ENDED, OPEN, Held, Leg, Where, following
from jobs.queue.rules import BEFORE_REBUILDING, Place, Standing, View, asked, line_up, missing, open_minutes
from jobs.tray.rules import Origin
from jobs.tray.rules import counting as parts_counting
from jobs.worksheet.rules import counting as steps_counting
from jobs.worksheet.rules import still_in
from shop.catalogue.reads import Pinned
from shop.catalogue.rules import Plan, together
from shop.gases.reads import setting
from shop.gases.rules import use_of
from shop.staff.models import Person
from shop.staff.reads import scopes_of
from shop.staff.rules import Can, authorisation_refusals
from shop.stock.reads import in_store
from shop.stock.rules import Claim
from shop.workshop.reads import columns, today, uid
from shop.workshop.rules import Kind, Refusal

MOST = 200  # jobs in one queue
MOST_ON_BOARD = 500


# What is beside each job stands apart: planning the joins would take longer than all the rest.
_QUEUE = f"""
SELECT j.id, j.uid, j.number, j.leg, j.promised_on, j.promised_why, j.version, j.drop_off_id,
    (SELECT d.uid FROM flow_dropoff d WHERE d.id = j.drop_off_id), j.item_id, i.uid, i.number, i.oxygen,
    (SELECT m.maker FROM catalogue_model m WHERE m.id = i.model_id),
    (SELECT m.kind FROM catalogue_model m WHERE m.id = i.model_id),
    (SELECT s.name FROM gear_member m JOIN gear_gearset s ON s.id = m.gear_set_id
     WHERE m.item_id = j.item_id AND m.to_day IS NULL),
    (SELECT f.uid FROM flow_job f WHERE f.id = j.follows_id), j.technician_id,
    (SELECT p.uid FROM staff_person p WHERE p.id = j.technician_id),
    (SELECT p.name FROM staff_person p WHERE p.id = j.technician_id)
FROM flow_job j JOIN gear_item i ON i.id = j.item_id
WHERE j.leg IN ({", ".join(f"'{leg}'" for leg in OPEN)}) AND j.leg <> '{Leg.SIGNED_OFF}' AND {{which}}
ORDER BY j.promised_on, j.id LIMIT {MOST + 1}
"""  # noqa: S608 - legs and a figure of ours


# Both lists: the first is what the index of open jobs states, or it is not used.
_CLAIMING = f"""
SELECT id, uid, number, leg, promised_on FROM flow_job
WHERE leg IN ({", ".join(f"'{leg}'" for leg in OPEN)}) AND leg IN ({", ".join(f"'{leg}'" for leg in BEFORE_REBUILDING)})
ORDER BY promised_on, id
"""  # noqa: S608 - legs of ours


# Where jobs are that are not here, the legs they went back to, the steps and parts recorded; oldest first.
_RECORDED = """
SELECT 'away', j.id, c.holder, 0, '', c.id FROM flow_job j JOIN flow_custody c ON c.line_id = j.line_id
    WHERE j.id = ANY(%s) AND c."where" <> 'here'
    AND NOT EXISTS (SELECT 1 FROM flow_custody n WHERE n.line_id = c.line_id AND n.id > c.id)
UNION ALL SELECT 'back', m.job_id, m.to_leg, 0, '', m.id FROM flow_move m WHERE m.job_id = ANY(%s) AND m.back
UNION ALL SELECT 'step', r.job_id, s.key, s.backs, s.omitted, s.id
    FROM flow_round r JOIN worksheet_stepdone s ON s.round_id = r.id WHERE r.job_id = ANY(%s)
UNION ALL SELECT 'part', r.job_id, t.key, t.backs, t.origin, t.id
    FROM flow_round r JOIN tray_traypart t ON t.round_id = r.id WHERE r.job_id = ANY(%s)
ORDER BY 6
"""


@dataclass(frozen=True)
class OpenJob:
    """The columns of an open job, with what is beside it; None where there is nothing."""

    pk: int
    uid: UUID | str
    number: int
    leg: str
    promised_on: date
    promised_why: str
    version: int
    drop_off_id: int
    drop_off: UUID | str
    item_id: int
    item: UUID | str
    item_number: int
    oxygen: int | None
    maker: str
    kind: str
    gear_set: str | None
    follows: UUID | str | None
    technician_id: int | None
    technician: UUID | str | None
    technician_name: str | None


@dataclass(frozen=True)
class Row:
    """A job in its place, under its plans as one, with the versions pinned on it and the holds that stand."""

    job: OpenJob
    plan: Plan
    versions: list[Pinned]
    holds: list[OpenHold]
    place: Place

    @property
    def can_go_on(self) -> bool:
        return not self.place.stops

    @property
    def pickable(self) -> bool:
        """Whether it may be moved on together with others: one's own, and not to be signed off next."""
        return self.can_go_on and self.place.standing.mine and self.place.standing.to != Leg.SIGNED_OFF

    @property
    def gear_set(self) -> str:
        """The name of the set its item belongs to."""
        return self.job.gear_set or ""


@dataclass(frozen=True)
class Shown:
    """A row as the page draws it: with the job itself."""

    job: Job
    row: Row

    @property
    def gear_set(self) -> str:
        return self.row.gear_set


@dataclass(frozen=True)
class Group:
    """The jobs of one drop-off, those of a set together; a promise for another day is told beside its job."""

    drop_off: DropOff
    rows: list[Shown]

    @property
    def promised_on(self) -> date:
        """The first day that something of it is promised for."""
        return min(row.job.promised_on for row in self.rows)


def view_of(by: Person, asked_for: str) -> View:
    """Whose jobs are shown: what is next, for somebody who works at the bench; else everybody's."""
    return View(asked_for) if asked_for else View.NEXT if by.may(Can.WORK) else View.EVERYBODY


def queue(by: Person, of: View, leg: str = "", technician: Person | None = None) -> dict[str, Any]:
    """The open jobs that are worked on, in order for a person; the most urgent ones where there are very many."""
    which, asked = ["TRUE"], list[Any]()
    if of == View.ME:
        which, asked = ["j.technician_id = %s"], [by.pk]
    elif of == View.NEXT:
        which, asked = ["(j.technician_id = %s OR j.technician_id IS NULL)"], [by.pk]
    if leg:
        which, asked = [*which, "j.leg = %s"], [*asked, leg]
    if technician:
        which, asked = [*which, "j.technician_id = %s"], [*asked, technician.pk]
    found = [OpenJob(*row) for row in columns(_QUEUE.format(which=" AND ".join(which)), *asked)]
    day = today()
    return {"of": of, "day": day, "more": len(found) > MOST, "rows": _rows(by, of, found[:MOST], day)}


def _rows(by: Person, of: View, jobs: list[OpenJob], day: date) -> list[Row]:
    """What every room knows of the jobs, lined up; authorisation is asked of the person where the work would be theirs."""
    versions = pinned_of([job.pk for job in jobs])
    plans = {pk: together([(each.key, each.plan) for each in found]) for pk, found in versions.items()}
    holds = holds_of({job.pk: job.item_id for job in jobs})
    facts = _facts(job.pk for job in jobs)
    covered = uncovered({job.drop_off_id for job in jobs})
    wanted = {job.pk: _wanted(plans[job.pk], job.leg, facts[job.pk]) for job in jobs}
    stored = in_store({part for each in wanted.values() for part in each}, day)
    threshold = setting().threshold
    gases = {
        job.pk: use_of(job.oxygen, oxygen_plan=plans[job.pk].oxygen, threshold=threshold).gas for job in jobs
    }
    scopes = _Scopes(by, day) if of != View.EVERYBODY else None
    standings = [
        Standing(
            number=job.number,
            promised_on=job.promised_on,
            leg=job.leg,
            to=following(plans[job.pk].legs, job.leg) or "",
            mine=job.technician_id == by.pk,
            technician=job.technician_name or "",
            holds=tuple(Held(hold.kind, hold.why) for hold in holds[job.pk]),
            away="".join(facts[job.pk].away),
            withdrawn=any(each.withdrawn for each in versions[job.pk]),
            unauthorised=scopes.refusals(job.maker, job.kind, plans[job.pk].oxygen) if scopes else (),
            missing=missing(wanted[job.pk], stored, gases[job.pk]),
            uncovered=covered[job.drop_off_id],
        )
        for job in jobs
    ]
    known = {job.number: job for job in jobs}
    return [
        Row(job := known[place.standing.number], plans[job.pk], versions[job.pk], holds[job.pk], place)
        for place in line_up(standings, day)
    ]


class _Scopes:
    """A person's authorisations, read once for any number of jobs; judged by the rule that every action asks."""

    def __init__(self, person: Person, day: date):
        self.person, self.day, self.scopes = person, day, scopes_of([person])[person.pk]
        self.known: dict[tuple[str, str, bool], tuple[Refusal, ...]] = {}

    def refusals(self, maker: str, kind: str, oxygen: bool) -> tuple[Refusal, ...]:
        if (gear := (maker, kind, oxygen)) not in self.known:
            asked: Any = {"maker": maker, "kind": kind, "kind_label": Kind(kind).label, "oxygen": oxygen}
            refused = authorisation_refusals(self.person.name, self.scopes, on=self.day, **asked)
            self.known[gear] = tuple(refused)
        return self.known[gear]


@dataclass(frozen=True)
class _Facts:
    """What was recorded of a job that its place in the queue rests on; `away` is where it is, empty when it is here."""

    away: list[str] = field(default_factory=list)
    backs: list[str] = field(default_factory=list)
    steps: list[tuple[str, int, bool]] = field(default_factory=list)
    parts: list[tuple[str, int, str]] = field(default_factory=list)


def _facts(jobs: Iterable[int]) -> dict[int, _Facts]:
    """Of jobs, by their primary keys, in one statement."""
    found = {pk: _Facts() for pk in jobs}
    for what, pk, key, recorded_after, more, _ in columns(_RECORDED, *[list(found)] * 4):
        match what:
            case "away":
                found[pk].away.append(key)
            case "back":
                found[pk].backs.append(key)
            case "step":
                found[pk].steps.append((key, recorded_after, not more))
            case "part":
                found[pk].parts.append((key, recorded_after, more))
    return found


def _wanted(plan: Plan, leg: str, facts: _Facts) -> Mapping[str, int]:
    """The stocked parts that a job still takes."""
    origins = parts_counting(plan.legs, facts.backs, facts.parts)
    placed = {key for key, origin in origins.items() if origin != Origin.NOTHING}
    return asked(plan, leg, placed | still_in(plan, steps_counting(plan, facts.backs, facts.steps)))


def claims() -> list[Claim]:
    """What each open job still takes from the store, by its pinned plans, in the order of the promised days."""
    rows = columns(_CLAIMING)
    keys = [row[0] for row in rows]
    versions, facts, found = pinned_of(keys), _facts(keys), list[Claim]()
    for pk, kept, number, leg, promised_on in rows:
        plan = together([(each.key, each.plan) for each in versions[pk]])
        told = (str(uid(kept)), f"tray {number}", reverse("job", args=[uid(kept)]))
        found += [
            Claim(part, count, promised_on, *told) for part, count in _wanted(plan, leg, facts[pk]).items()
        ]
    return found


def shown(rows: Sequence[Row]) -> list[Shown]:
    """Rows for the page, in their order."""
    known = jobs().in_bulk([row.job.pk for row in rows])
    return [Shown(known[row.job.pk], row) for row in rows]


def groups(rows: Sequence[Shown]) -> list[Group]:
    """Rows by drop-off, in the order in which each comes first; within it the items of a set stand together."""
    found: dict[int, list[Shown]] = {}
    for row in rows:
        found.setdefault(row.job.drop_off_id, []).append(row)
    return [Group(each[0].job.drop_off, _sets_together(each)) for each in found.values()]


def _sets_together(rows: list[Shown]) -> list[Shown]:
    first: dict[str, int] = {}
    for n, row in enumerate(rows):
        first.setdefault(row.gear_set or row.job.item.label, n)
    return sorted(rows, key=lambda row: first[row.gear_set or row.job.item.label])


def board() -> dict[str, Any]:
    """The board of the day: what is promised, who has how much, what waits and for what, what is ready or away."""
    found = list(open_jobs().select_related("follows")[: MOST_ON_BOARD + 1])
    jobs, day = found[:MOST_ON_BOARD], today()
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
    plans, found = {job.pk: job.plan for job in jobs if job.technician}, dict[str, dict[str, Any]]()
    facts = _facts(plans)
    for job in jobs:
        if job.technician is None:
            continue
        row = found.setdefault(
            str(job.technician.uid),
            {"technician": job.technician, "jobs": 0, "plan_minutes": 0, "open_step_minutes": 0},
        )
        row["jobs"] += 1
        row["plan_minutes"] += job.plan.minutes
        row["open_step_minutes"] += open_minutes(
            job.plan, steps_counting(job.plan, (each := facts[job.pk]).backs, each.steps)
        )
    return sorted(found.values(), key=lambda row: str(row["technician"].name))


def _holds() -> list[Hold]:
    """The open holds by kind, the oldest first; evidence may stand on an item without a job."""
    rows = Hold.objects.filter(Q(job=None) | ~Q(job__leg__in=ENDED), lifted_at=None)
    rows = rows.select_related("job__item__model", "item__model")
    return list(rows.order_by("kind", "at", "pk")[:MOST])


def _waiting(jobs: list[Job]) -> list[dict[str, Any]]:
    """The drop-offs whose go-ahead does not cover the work, since they came."""
    why = uncovered({job.drop_off_id for job in jobs})
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
