"""What is known of who will come, and what that takes of each part: as many statements for many as for one."""

import math
from collections import Counter, defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from jobs.ahead.rules import AHEAD, WEEK, Call, Coming, Need, Others, Span, comes, foretold, learned
from jobs.flow.reads import pinned_of
from jobs.flow.rules import OPEN, Leg
from jobs.queue.reads import claims
from shop.catalogue.reads import plan_of, renewed
from shop.catalogue.rules import Plan
from shop.workshop.reads import columns, instant, local_day, zone

REMEMBERED = 3 * AHEAD  # weeks of the past that are asked how customers come
LEAST_PAST = 4  # weeks over which jobs are spread at least, in a workshop that has just opened


def _words(*words: str) -> str:
    return ", ".join(f"'{word}'" for word in words)


# Clocks without history come too: they are counted, since nothing says when somebody comes for them.
_CLOCKS = """
SELECT c.id, c.item_id, i.owner_id, i.model_id, c.key, c.due FROM clocks_clock c JOIN gear_item i ON i.id = c.item_id
WHERE i.merged_into_id IS NULL AND i.standing = 'in use' AND (c.unknown OR (c.due > %s AND c.due <= %s))
"""
_RESTARTS = """
SELECT c.id, c.item_id, i.owner_id, c.key, r.anchor, r.due, r.elsewhere FROM clocks_restart r JOIN clocks_clock c ON c.id = r.clock_id
JOIN gear_item i ON i.id = c.item_id
WHERE r.due > %s AND NOT EXISTS (SELECT 1 FROM clocks_takenback t WHERE t.restart_id = r.id) ORDER BY c.id, r.anchor, r.id
"""
_JOBS = f"""
SELECT j.id, j.item_id, j.leg, d.at FROM flow_job j JOIN flow_dropoff d ON d.id = j.drop_off_id
WHERE d.at >= %s OR j.leg IN ({_words(*OPEN)}) ORDER BY d.at
"""  # noqa: S608 - words of ours
_PLANS = """
SELECT p.model_id, p.key, p.id, p.digest FROM catalogue_planversion p
WHERE NOT EXISTS (SELECT 1 FROM catalogue_withdrawal w WHERE w.plan_version_id = p.id) ORDER BY p.model_id, p.key, p.n
"""


@dataclass(frozen=True)
class Past:
    """What the need rests on: how customers came, how many jobs no clock foretold in so many weeks, what is not counted."""

    spans: tuple[Span, ...]
    calls: int
    others: int
    weeks: int
    without_history: int
    without_plan: int


@dataclass(frozen=True)
class _Visit:
    """A job that is open or came within a year: when its gear came in, and its plans."""

    item: int
    leg: str
    came: date
    plans: Mapping[str, Plan]


def needs(day: date) -> tuple[dict[str, Need], Past]:
    """What is needed of each part that a plan renews, and what that rests on."""
    visits, restarts = _visits(day), _restarts(day)
    open_now = [visit for visit in visits if visit.leg in OPEN and visit.leg != Leg.SIGNED_OFF]
    here = {
        (visit.item, promise.key): visit.came
        for visit in open_now
        for plan in visit.plans.values()
        for promise in plan.promises
    }
    calls = _calls(restarts, here)
    spans = learned(calls, day)
    coming, without_history, without_plan = _coming(day, spans, here)
    (jobs, others), weeks = _unforetold(visits, restarts, day), _weeks(day)
    waiting = Counter[str]()
    for claim in claims():
        waiting[claim.part] += claim.pieces
    found = {
        number: Need(
            waiting[number],
            tuple(coming[number]),
            tuple(Others(count / weeks, pieces) for pieces, count in sorted(others[number].items())),
        )
        for number in {*waiting, *coming, *others}
    }
    return found, Past(spans, len(calls), jobs, weeks, without_history, without_plan)


def _visits(day: date) -> list[_Visit]:
    rows = columns(_JOBS, (day - timedelta(weeks=AHEAD)).isoformat())
    pinned, here = pinned_of([row[0] for row in rows]), zone()
    return [
        _Visit(item, leg, instant(at).astimezone(here).date(), {each.key: each.plan for each in pinned[pk]})
        for pk, item, leg, at in rows
    ]


def _weeks(day: date) -> int:
    """Over how many weeks of the last year this workshop has been at work."""
    first = columns("SELECT d.at FROM flow_dropoff d ORDER BY d.id LIMIT 1")
    weeks = math.ceil((day - local_day(instant(first[0][0]))).days / WEEK) if first else 0
    return min(max(weeks, LEAST_PAST), AHEAD)


Restarts = dict[tuple[int, str], list[tuple[date, date, int, bool]]]


def _restarts(day: date) -> Restarts:
    """Of each clock, by item and key, its restarts in order: day of the service, day due then, owner, whether it was here."""
    found: Restarts = defaultdict(list)
    for _, item, owner, key, anchor, due, elsewhere in columns(
        _RESTARTS, (day - timedelta(weeks=REMEMBERED)).isoformat()
    ):
        found[item, key].append((anchor, due, owner, not elsewhere))
    return found


def _calls(restarts: Restarts, here: Mapping[tuple[int, str], date]) -> list[Call]:
    """What fell due, by customer and week, and when they came: the day of the next service here, or when gear that is here came."""
    found: dict[tuple[int, int], tuple[date, date | None]] = {}
    for clock, rows in restarts.items():
        nexts = [*(anchor if ours else None for anchor, _, _, ours in rows[1:]), here.get(clock)]
        for (_, due, owner, _), came in zip(rows, nexts, strict=True):
            first, earliest = found.get((owner, due.toordinal() // WEEK), (due, came))
            sooner = min((each for each in (earliest, came) if each), default=None)
            found[owner, due.toordinal() // WEEK] = (min(first, due), sooner)
    return [Call(*each) for each in found.values()]


def _coming(
    day: date, spans: tuple[Span, ...], here: Collection[tuple[int, str]]
) -> tuple[dict[str, list[Coming]], int, int]:
    """Customers who may come, for each part; and how many clocks have no history, and how many no plan."""
    plans, without_history, without_plan = _plans(), 0, 0
    brought: dict[tuple[int, int], tuple[date, Counter[str]]] = {}
    around = timedelta(weeks=AHEAD)
    for _, item, owner, model, key, due in columns(
        _CLOCKS, (day - around).isoformat(), (day + around).isoformat()
    ):
        parts = plans.get((model, key))
        if (item, key) in here:
            continue
        if due is None or parts is None:
            without_history, without_plan = without_history + (due is None), without_plan + (parts is None)
            continue
        group = (owner, due.toordinal() // WEEK)
        first, pieces = brought.get(group, (due, Counter[str]()))
        brought[group] = (min(first, due), pieces + parts)
    found: dict[str, list[Coming]] = defaultdict(list)
    chances = {due: comes(due, day, spans) for due in {due for due, _ in brought.values()}}
    for due, wanted in brought.values():
        for number, pieces in wanted.items():
            found[number].append(Coming(chances[due], pieces))
    return found, without_history, without_plan


def _plans() -> dict[tuple[int, str], Counter[str]]:
    """For each model and key of a clock the parts of the plan that satisfies it; of several plans the one with the most."""
    newest: dict[tuple[int, str], Counter[str]] = {}
    versions: dict[tuple[int, str], tuple[int, str]] = {}
    for model, plan_key, pk, digest in columns(_PLANS):
        versions[model, plan_key] = (pk, digest)
    for (model, _), (pk, digest) in versions.items():
        plan = plan_of(pk, digest)
        parts, before = renewed(plan), newest.get((model, plan.clock_key))
        if before is None or parts.total() > before.total():
            newest[model, plan.clock_key] = parts
    return newest


def _unforetold(visits: list[_Visit], restarts: Restarts, day: date) -> tuple[int, dict[str, Counter[int]]]:
    """How many jobs of the last year no clock had called for, and for each part how many of them took so many pieces."""
    jobs, found = 0, defaultdict[str, Counter[int]](Counter)
    for visit in visits:
        if (day - visit.came).days >= AHEAD * WEEK:
            continue
        stray = [plan for plan in visit.plans.values() if not _foretold(visit, plan, restarts)]
        jobs += bool(stray)
        for number, pieces in sum((renewed(plan) for plan in stray), Counter[str]()).items():
            found[number][pieces] += 1
    return jobs, found


def _foretold(visit: _Visit, plan: Plan, restarts: Restarts) -> bool:
    """Whether the clock that a plan satisfies had called for a visit."""
    rows = restarts.get((visit.item, plan.clock_key), [])
    before = [due for anchor, due, _, _ in rows if anchor < visit.came]
    return bool(before) and foretold(before[-1], visit.came)
