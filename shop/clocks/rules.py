"""When a clock is due, how it stands, and what is decided about a rule. Pure.

Months are reckoned from their day by `add_months`: the same day of the month, or that month's last day where it is
shorter; 29 February gives the 28th in other years. Each restart counts from its own day, so no day drifts for good.
"""

import calendar
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from shop.gear.rules import Standing
from shop.intervals.rules import Anchor, Limit, Unit
from shop.workshop.rules import Refusal, add_months


class State(StrEnum):
    """How a clock stands."""

    RUNNING = "running"
    UNKNOWN = "unknown"  # no history: counts as due
    ELSEWHERE = "elsewhere"  # runs, by what others did
    STOPPED = "stopped"
    ENDED = "ended"
    IDLE = "idle"  # no rule asks for it any more


class Decision(StrEnum):
    """What is decided about a rule, or about the place of a rule."""

    FORCE = "put in force"
    WITHDRAW = "withdraw"
    FOLLOW = "follow its place"
    LEAVE = "follow its place no more"


def state(standing: str, *, unknown: bool, asked: bool, elsewhere: bool) -> State:
    """How a clock stands: what became of its item goes first."""
    if standing == Standing.PUT_AWAY:
        return State.STOPPED
    if standing != Standing.IN_USE:
        return State.ENDED
    if not asked:
        return State.IDLE
    if unknown:
        return State.UNKNOWN
    return State.ELSEWHERE if elsewhere else State.RUNNING


@dataclass(frozen=True)
class Counted:
    """So many dives or hours in all, on a day."""

    unit: str
    day: date
    total: int


@dataclass(frozen=True)
class History:
    """What is known of an item and one of its clocks."""

    last: date | None = None
    made: date | None = None
    in_service: date | None = None
    counted: tuple[Counted, ...] = ()


@dataclass(frozen=True)
class Due:
    """When it is due: on a day, or unknown, which counts as due; neither while only a count decides and is not reached.

    `which` is the place of the limit that decides among those that were given; `grace` the last day on which a programme
    still takes the proof.
    """

    day: date | None = None
    unknown: bool = False
    which: int | None = None
    grace: date | None = None


def due(limit: Limit, history: History) -> Due:
    """When one rule asks for it."""
    starts = {Anchor.MADE.value: history.made, Anchor.IN_SERVICE.value: history.in_service}
    since = history.last or starts.get(str(limit.anchor))
    if since is None:
        return Due(unknown=True)
    days = []
    if limit.months:
        day = add_months(since, limit.months)
        days.append(_month_end(day) if limit.month_end else day)
    for unit, most in ((Unit.DIVES, limit.dives), (Unit.HOURS, limit.hours)):
        if most and (reached := _reached(unit, most, since, history.counted)):
            days.append(reached)
    first = min(days, default=None)
    grace = first + timedelta(days=limit.grace_days) if first and limit.grace_days else None
    return Due(first, grace=grace)


def reckon(limits: Sequence[Limit], history: History) -> Due:
    """The soonest of what several rules ask for; what is unknown comes before any day."""
    each = [(n, due(limit, history)) for n, limit in enumerate(limits) if not limit.empty]
    if not each:
        return Due()
    order = sorted(each, key=lambda pair: (not pair[1].unknown, pair[1].day or date.max, pair[0]))
    which, first = order[0]
    grace = min((found.grace for _, found in each if found.grace), default=None)
    return Due(first.day, first.unknown, which, grace)


def _month_end(day: date) -> date:
    return day.replace(day=calendar.monthrange(day.year, day.month)[1])


def _reached(unit: Unit, most: int, since: date, counted: Iterable[Counted]) -> date | None:
    """The day on which so many more were first on record; without a count from before, all of them count."""
    rows = sorted((each for each in counted if each.unit == unit), key=lambda each: (each.day, each.total))
    before = max((each.total for each in rows if each.day <= since), default=0)
    return next((each.day for each in rows if each.day > since and each.total - before >= most), None)


def elsewhere_refusals(day: date, present: date, last: date | None) -> list[Refusal]:
    """Why what others did on a day does not restart a clock."""
    if day > present:
        return [Refusal("day-to-come", "That day has not come yet.", "day")]
    if last is not None and day <= last:
        said = f"It was done on {last:%-d %B %Y} by our records, which is not before that day."
        return [Refusal("later-known", said, "day")]
    return []


def tally_refusals(asked: Counted, present: date, rows: Iterable[Counted]) -> list[Refusal]:
    """Why a count is not taken: counters only go up, so each day's lies between those before and after it."""
    if asked.day > present:
        return [Refusal("day-to-come", "That day has not come yet.", "day")]
    others = [row for row in rows if row.unit == asked.unit and row.day != asked.day]
    low = max((row.total for row in others if row.day < asked.day), default=0)
    high = min((row.total for row in others if row.day > asked.day), default=None)
    if asked.total < low:
        return [Refusal("counts-back", f"There were {low} {asked.unit} on an earlier day already.", "total")]
    if high is not None and asked.total > high:
        return [Refusal("counts-back", f"There were only {high} {asked.unit} on a later day.", "total")]
    return []
