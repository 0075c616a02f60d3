"""In which order open jobs stand for somebody, and why each stands where it does. Pure."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from jobs.flow.rules import WORKING, Held, Leg, held_refusals
from shop.catalogue.rules import Plan
from shop.gases.rules import Gas
from shop.stock.rules import Usable
from shop.workshop.rules import Refusal


class View(StrEnum):
    """Whose jobs are looked at."""

    NEXT = "next"
    ME = "me"
    EVERYBODY = "everybody"


# Until the gear is put together again, what the plan renews is still taken from the store.
BEFORE_REBUILDING = (Leg.CHECKED_IN, Leg.CLEARED, Leg.STRIPPING, Leg.CLEANING)
_ALONG = {leg.value: n for n, leg in enumerate(Leg)}


@dataclass(frozen=True)
class Missing:
    """A stocked part of which a job asks for more than the store has for its gas; `unfit` is the gas it is not fit for."""

    part: str
    asked: int
    in_store: int
    unfit: str = ""

    def __str__(self) -> str:
        what = f", not fit for {self.unfit}" if self.unfit else ""
        return f"{self.part} ({self.in_store} of {self.asked}{what})"


@dataclass(frozen=True)
class Standing:
    """What is known of an open job that is lined up for somebody; `away` is where it is, empty when it is here.

    `to` is its next leg, `technician` who has it, empty for nobody, and `mine` tells whether that is the person.
    """

    number: int
    promised_on: date
    leg: str
    to: str
    mine: bool = False
    technician: str = ""
    holds: tuple[Held, ...] = ()
    away: str = ""
    withdrawn: bool = False
    unauthorised: tuple[Refusal, ...] = ()
    missing: tuple[Missing, ...] = ()
    uncovered: tuple[Refusal, ...] = ()

    @property
    def begun(self) -> bool:
        """Whether that person has it apart or on its tests."""
        return self.mine and self.leg in WORKING


@dataclass(frozen=True)
class Place:
    """A job in the line: what stops it, if anything does, and in a few words why it stands there."""

    standing: Standing
    stops: tuple[Refusal, ...]
    why: tuple[str, str]


def stops(known: Standing) -> tuple[Refusal, ...]:
    """Everything that keeps a job from going on whatever is done at the bench."""
    found = held_refusals(known.holds, known.to)
    if known.away:
        found.append(Refusal("not-here", f"It is not here: {known.away}."))
    if known.withdrawn:
        found.append(Refusal("plan-withdrawn", "Its plan was withdrawn."))
    found += known.unauthorised
    if known.missing:
        short = ", ".join(map(str, known.missing))
        found.append(Refusal("parts-missing", f"Short in the store: {short}."))
    return (*found, *known.uncovered)


def why(known: Standing, day: date) -> tuple[str, str]:
    """When a job is promised, seen from a day, and whose it is."""
    return (_when((known.promised_on - day).days), _whose(known))


def _whose(known: Standing) -> str:
    if known.mine:
        return "you have begun it" if known.begun else "with you"
    return f"with {known.technician}" if known.technician else "nobody has it yet: the lead gives it out"


def _when(days: int) -> str:
    if days < 0:
        return f"late by {-days} day{'' if days == -1 else 's'}"
    return {0: "promised today", 1: "promised for tomorrow"}.get(days, f"promised in {days} days")


def line_up(known: Iterable[Standing], day: date) -> list[Place]:
    """The jobs in order: what can go on first, by promised day, begun by oneself, one's own, the furthest along."""
    places = [Place(each, stops(each), why(each, day)) for each in known]
    return sorted(places, key=_rank)


def _rank(place: Place) -> tuple[bool, date, bool, bool, int, int]:
    known = place.standing
    return (
        bool(place.stops),
        known.promised_on,
        not known.begun,
        not known.mine,
        -_ALONG[known.leg],
        known.number,
    )


def asked(plan: Plan, leg: str, settled: Collection[str]) -> Mapping[str, int]:
    """How many pieces of each stocked part a job still takes; `settled` parts have their end or stay in the gear."""
    found: Counter[str] = Counter()
    for part in plan.parts if leg in BEFORE_REBUILDING else ():
        if part.renew and part.key not in settled:
            found[part.renew] += part.count
    return found


def missing(wanted: Mapping[str, int], stored: Mapping[str, Usable], gas: Gas) -> tuple[Missing, ...]:
    """Of which parts the store has too few for a gas. Each job is looked at alone: nothing is set aside for another."""
    found = []
    for part, count in sorted(wanted.items()):
        usable = stored.get(part, Usable(0, gas))
        if count > usable.of(gas):
            unfit = gas if usable.pieces and not usable.of(gas) else ""
            found.append(Missing(part, count, usable.of(gas), unfit))
    return tuple(found)


def open_minutes(plan: Plan, done: Mapping[str, bool]) -> int:
    """The plan's minutes for the steps that are neither done nor omitted; of open alternatives the longest counts."""
    chosen = {step.choice for step in plan.steps if step.choice and done.get(step.key)}
    alone, alternatives = 0, dict[str, int]()
    for step in plan.steps:
        if step.key in done or step.choice in chosen:
            continue
        if step.choice:
            alternatives[step.choice] = max(step.minutes, alternatives.get(step.choice, 0))
        else:
            alone += step.minutes
    return alone + sum(alternatives.values())
