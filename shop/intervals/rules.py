"""How often gear must come again: what a rule asks for, and for which gear it holds. Pure."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from shop.gases.rules import percent
from shop.workshop.rules import Kind


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
