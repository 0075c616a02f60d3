"""How often gear must come again: for which gear a rule holds, and on which day what it asks for is due. Pure.

Months are reckoned from their day by `add_months`: the same day of the month, or that month's last day where it is
shorter; 29 February gives the 28th in other years. Each restart counts from its own day, so no day drifts for good.
"""

import calendar
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Protocol

from shop.gases.rules import percent
from shop.workshop.rules import Kind, add_months


class Anchor(StrEnum):
    """From which day the first period counts, while nothing was done yet; later ones count from what was done last."""

    DONE = "last done"
    IN_SERVICE = "entry into service"
    MADE = "manufacture"

    @property
    def label(self) -> str:
        return "last service or test" if self is Anchor.DONE else self.value


class Status(StrEnum):
    """How sure it is that the rule says so."""

    READ = "read"
    SECOND = "read second-hand"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"
    MAKER = "the maker's"
    OWN = "this workshop's own"
    MISSING = "not found"


class Material(StrEnum):
    """What a cylinder is made of."""

    STEEL = "steel"
    ALUMINIUM = "aluminium, alloy not known"
    ALUMINIUM_6351 = "aluminium 6351-T6"
    OTHER_ALUMINIUM = "another aluminium alloy"
    COMPOSITE = "composite"


class Use(StrEnum):
    """What gear is used for; nothing stated counts as scuba."""

    SCUBA = "scuba"
    SURFACE = "surface supply"
    HEAVY = "heavy use"


class Unit(StrEnum):
    """What is counted beside months."""

    DIVES = "dives"
    HOURS = "hours"


@dataclass(frozen=True)
class Limit:
    """What one rule asks for; whichever comes first. Nothing in it: the row is still empty."""

    months: int | None = None
    dives: int | None = None
    hours: int | None = None
    grace_days: int | None = None
    anchor: str = Anchor.DONE
    month_end: bool = False

    @property
    def empty(self) -> bool:
        return not (self.months or self.dives or self.hours)

    @property
    def said(self) -> str:
        """It in words: every 12 months or 100 dives."""
        parts = [(self.months, "month"), (self.dives, "dive"), (self.hours, "hour")]
        asked = [f"{most} {unit}{'s' if most != 1 else ''}" for most, unit in parts if most]
        return f"every {' or '.join(asked)}" if asked else "not found yet"


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


class Gear(Protocol):
    """A piece of gear as rules look at it."""

    @property
    def kind(self) -> str: ...
    @property
    def model_id(self) -> int: ...
    @property
    def specification(self) -> str: ...
    @property
    def material(self) -> str: ...
    @property
    def use(self) -> str: ...
    @property
    def oxygen(self) -> int | None: ...


class Row(Protocol):
    """A rule as it is asked whether it holds; what is empty holds for any gear."""

    @property
    def kind(self) -> str: ...
    @property
    def model_id(self) -> int | None: ...
    @property
    def specification(self) -> str: ...
    @property
    def material(self) -> str: ...
    @property
    def use(self) -> str: ...
    @property
    def oxygen_above(self) -> int | None: ...


_UNSURE = {Material.ALUMINIUM.value: (Material.ALUMINIUM_6351, Material.OTHER_ALUMINIUM)}


def applies(row: Row, gear: Gear) -> bool:
    """Whether a rule holds for gear. What is not on record of its specification or material counts as if it did."""
    return (
        row.kind in ("", gear.kind)
        and row.model_id in (None, gear.model_id)
        and (not row.specification or not gear.specification or _named(row, gear))
        and (row.material in ("", gear.material) or not gear.material or row.material in _either(gear))
        and (not row.use or row.use == (gear.use or Use.SCUBA))
        and (row.oxygen_above is None or (gear.oxygen or 0) > row.oxygen_above)
    )


def why(row: Row, gear: Gear) -> str:
    """Why a rule that holds does so, in one line."""
    said = [f"for every {Kind(row.kind).label}" if row.kind else "for any gear"]
    if row.model_id:
        said.append("of this model")
    if row.specification:
        known = f"of specification {gear.specification}"
        said.append(known if gear.specification else "its specification is not on record, so it counts")
    if row.material:
        certain = row.material == gear.material
        said.append(f"of {row.material}" if certain else "its material is not known for sure, so it counts")
    if row.use:
        said.append(f"used for {row.use}")
    if row.oxygen_above is not None:
        said.append(f"used with more than {percent(row.oxygen_above)} oxygen")
    return ", ".join(said)


def _named(row: Row, gear: Gear) -> bool:
    return plain(gear.specification) in {plain(each) for each in row.specification.split()}


def plain(specification: str) -> str:
    """A specification as it is compared: DOT-3AL, dot 3al and 3AL are one."""
    return specification.upper().replace(" ", "").replace("-", "").removeprefix("DOT").removeprefix("TC")


def _either(gear: Gear) -> tuple[str, ...]:
    return _UNSURE.get(gear.material, ())


# The longest periods of a pressure test in print for cylinders of divers: 49 CFR 180.209 Table 1, "for scuba use" (read); the
# French decree of 20 Nov 2017, under the scheme of clubs (read second-hand).
_LONGEST_USA, _LONGEST = 60, 72


def longest(place: str, kind: str, clock: str) -> int | None:
    """The most months that a rule may give a clock, where that is known."""
    if kind != Kind.CYLINDER or clock not in ("pressure_test", "eddy_current"):
        return None
    return _LONGEST_USA if place == "USA" else _LONGEST
