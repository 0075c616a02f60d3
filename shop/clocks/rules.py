"""How a clock stands, and what is decided about a rule. Pure."""

from collections.abc import Iterable
from datetime import date
from enum import StrEnum

from shop.gear.rules import Standing
from shop.intervals.rules import Counted
from shop.workshop.rules import Refusal


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
