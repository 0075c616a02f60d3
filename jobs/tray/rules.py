"""How a loose part may end, and which stand open. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeVar

from jobs.flow.rules import still_counts
from shop.catalogue.rules import LoosePart, Plan
from shop.gases.rules import Gas, Use, unfit_refusals
from shop.stock.rules import past_life
from shop.workshop.rules import Refusal, counted_in, in_unit

T = TypeVar("T")

# The legs on which a part may be given its end: it is out, and it is not yet back in.
OUT = ("stripping", "cleaning")


class Ending(StrEnum):
    """What becomes of a loose part."""

    REUSED = "reused"
    RENEWED = "renewed"
    SCRAPPED = "scrapped"
    MISSING = "missing on arrival"
    LOST = "lost"


class Origin(StrEnum):
    """Where the part that goes back into the gear is from."""

    ITSELF = "itself"
    STOCK = "stock"
    CUSTOMER = "customer's own"
    PROGRAMME = "maker's programme"
    NOTHING = "nothing yet"


# What the words beside an ending say; an ending that is not named here needs none.
WORDS = {
    Ending.SCRAPPED: "Say where the old part went.",
    Ending.LOST: "Say where it was searched for.",
}


def origin_of(ending: str, *, has_lot: bool, chosen: str) -> str:
    """Where the part that goes back in is from: a lot means the store, a reused part is itself."""
    if has_lot:
        return Origin.STOCK
    return Origin.ITSELF if ending == Ending.REUSED else chosen or Origin.NOTHING


def counting(legs: Sequence[str], backs: Sequence[str], rows: Iterable[tuple[str, int, T]]) -> dict[str, T]:
    """The newest of the rows that still count, by key of the part: (key, recorded after so many moves back, what is kept)."""
    return {
        key: row for key, recorded_after, row in rows if still_counts(legs, OUT[0], recorded_after, backs)
    }


def again_refusals(name: str, *, stands: bool, open_place: bool, why: str) -> list[Refusal]:
    """Why a part may not end once more: it stands, and nobody says why that is wrong; or there is nothing to correct."""
    if stands and not open_place and not why:
        said = f"{name} is accounted for already. If that is wrong, correct it and say why."
        return [Refusal("ended-before", said, "why")]
    if why and not stands:
        return [Refusal("nothing-to-correct", f"{name} is not accounted for yet: nothing to correct.", "why")]
    return []


def ending_refusals(
    part: LoosePart,
    ending: str,
    origin: str,
    leg: str,
    before: str | None,
    *,
    has_lot: bool,
    words: str,
    has_bin: bool = False,
) -> list[Refusal]:
    """Why a part may not end so: parts that the plan renews are renewed, while the gear is apart.

    `before` is how the part ended already with nothing yet to go back in; None when it has not.
    """
    found = []
    if leg not in OUT:
        said = f"Parts are accounted for while the gear is apart, not on {leg.replace('_', ' ')}."
        found.append(Refusal("wrong-leg", said))
    if ending == Ending.REUSED and part.renew:
        said = f"{part.name} is renewed at each service; it may not be reused."
        found.append(Refusal("must-renew", said, "ending"))
    if ending == Ending.REUSED and has_lot:
        found.append(Refusal("lot-unasked", "A reused part takes nothing from a lot.", "lot"))
    if has_bin and not has_lot:
        found.append(Refusal("bin-unasked", "Name the lot that is taken from this bin.", "lot"))
    if ending == Ending.RENEWED and origin == Origin.NOTHING:
        said = "Name the lot that the new part comes from, or say whose it is."
        found.append(Refusal("lot-missing", said, "lot"))
    if origin == Origin.STOCK and not has_lot:
        found.append(Refusal("lot-missing", "Name the lot that the new part comes from.", "lot"))
    needed = WORDS.get(Ending(ending)) or (
        "Say which part it is and where it is from." if origin in (Origin.CUSTOMER, Origin.PROGRAMME) else ""
    )
    if needed and not words:
        found.append(Refusal("words-missing", needed, "words"))
    if before is not None and (before != ending or origin == Origin.NOTHING):
        said = f"{part.name} is {before} already; what goes back in is still open."
        found.append(Refusal("ended-before", said, "ending"))
    return found


def measured_refusals(part: LoosePart, ending: str, origin: str, unit: str | None) -> list[Refusal]:
    """Why what is measured out may not end so, or a lot counted in another unit not stand for it; `unit` is that of the lot."""
    found = []
    if not part.pieces and (ending != Ending.RENEWED or origin not in (Origin.STOCK, Origin.NOTHING)):
        said = f"{part.name} is measured out: say that it is renewed, and from which lot."
        found.append(Refusal("measured-out", said, "ending"))
    if unit is not None and unit != part.unit:
        asked = in_unit(part.count, part.unit)
        said = f"The plan asks for {asked} here; the part of this lot is counted in {counted_in(unit)}."
        found.append(Refusal("unit-differs", said, "lot"))
    return found


def second_refusals(ending: str, *, given: bool, is_same: bool) -> list[Refusal]:
    """A lost part was searched for by two people."""
    if ending != Ending.LOST:
        return []
    if not given or is_same:
        said = "A lost part is searched for by a second person, who says so."
        return [Refusal("second-missing", said, "second")]
    return []


# What the lead may override with a second person, in words; more has a stop of its own in `overridable`.
OVERRIDES = {
    "wrong-part": "not the part that the plan asks for",
    "blocked": "its lot is in doubt",
    "past-life": "past its life",
    "unfit-for-gas": "not fit for the gas",
}
NEVER = ("past-life", "unfit-for-gas")  # in gear for more oxygen than air has


def overridable(code: str, gas: str) -> bool:
    """Whether the lead may override a refusal for gear that is used with a gas; nobody takes what is not there."""
    return code in OVERRIDES and (gas == Gas.AIR or code not in NEVER)


def override_refusals(codes: Sequence[str], gas: str, *, given: bool, is_same: bool) -> list[Refusal]:
    """Why an override of refusals may not be: it takes something to override, and a second person."""
    found = []
    if any(code in NEVER and not overridable(code, gas) for code in codes):
        said = f"In gear for {gas} a part past its life or unfit is overridden by nobody."
        found.append(Refusal("no-override", said, "override"))
    elif not any(overridable(code, gas) for code in codes):
        said = "Nothing stands in the way that an override could lift."
        found.append(Refusal("nothing-overridden", said, "override"))
    if not given or is_same:
        said = "An override takes a second person, who says so."
        found.append(Refusal("second-missing", said, "second"))
    return found


@dataclass(frozen=True)
class Fitted:
    """A part from a lot that is in the gear: when it was taken, how long the lot was good, and what was overridden."""

    name: str
    part: str
    lot: str
    taken: date
    good_to: date | None
    fit_for: str
    overridden: tuple[str, ...] = ()


def fitted_refusals(parts: Iterable[Fitted], use: Use) -> list[Refusal]:
    """Parts that may not stay in gear for its gas: past their life as they were taken, or unfit; less what was overridden."""
    found = []
    for each in parts:
        wrong = unfit_refusals(each.part, each.fit_for, use)
        if each.good_to is not None and each.taken > each.good_to:
            wrong.append(past_life(each.lot, each.good_to))
        found += [
            Refusal(refusal.code, f"{each.name}: {refusal.sentence}")
            for refusal in wrong
            if refusal.code not in each.overridden or not overridable(refusal.code, use.gas)
        ]
    return found


def open_parts(plan: Plan, ended: Mapping[str, str], untouched: Iterable[str] = ()) -> list[Refusal]:
    """Loose parts that are not accounted for, or whose place is empty, each with the step that frees it.

    `ended` gives the origin of what goes back in, by part; `untouched` are the parts that never came loose.
    """
    known = set(untouched)
    found = []
    for step in plan.steps:
        for part in plan.freed(step):
            where = f"Step {plan.position(step)}, {step.title}: {part.spoken}"
            if part.key in known:
                continue
            if part.key not in ended:
                found.append(Refusal("part-open", f"{where} is not accounted for."))
            elif ended[part.key] == Origin.NOTHING:
                found.append(Refusal("place-empty", f"{where} has nothing to go in its place."))
    return found
