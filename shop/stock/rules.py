"""What may be done with a lot, how much of a part is there for whom, and when it is ordered. Pure; lives are in `shop/lives`."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from shop.gases.rules import Gas, Use, fit, unfit_refusals
from shop.search.rules import short
from shop.workshop.rules import Refusal, Unit, counted_in, in_unit


class Verb(StrEnum):
    """What a movement is: some are done by hand beside a job, a count states what is there; a wrong receipt is taken back."""

    RECEIVE = "receive"
    TAKE = "take"
    RETURN = "return"
    SCRAP = "scrap"
    MOVE = "move"
    COUNT = "count"
    TAKE_BACK = "take back"


BY_HAND = {
    Verb.TAKE: "Take it for something other than a job",
    Verb.RETURN: "Put it back",
    Verb.SCRAP: "Scrap it",
    Verb.MOVE: "Move it to another bin",
    Verb.COUNT: "Count what is there",
}
BLOCKED = {"blocked": "in doubt", "blocked-by-notice": "under a notice"}  # what keeps a lot back, on lists
FIRST_SITE, FIRST_BIN = "Workshop", "Store"  # where everything lies until somebody says otherwise
_CODE = re.compile(r"l([0-9]{1,15})")


def lot_code(key: int) -> str:
    """What the label of a lot says to a scanner: the lot's key, which is never given twice."""
    return f"L-{key:05d}"


def bin_code(key: int) -> str:
    """The same of a bin."""
    return f"B-{key:04d}"


def lot_key(code: str) -> int | None:
    """The key of the lot whose code was scanned or typed; None if it is no such code."""
    found = _CODE.fullmatch(short(code))
    return int(found[1]) if found else None


def effective_refusals(on: date | None, day: date) -> list[Refusal]:
    """Why a movement cannot count from a day: nothing counts before it has happened."""
    if on is not None and on > day:
        return [Refusal("not-yet", "A movement cannot count from a day to come.", "effective_on")]
    return []


def value_left(receipts: Sequence[tuple[int, int | None]], on_hand: int) -> int | None:
    """What is left of a lot costs the mean of its receipts (quantity, cost), rounded; None where one cost is not known.

    Which piece came with which receipt is not known, so the mean is the one figure that does not depend on a guess.
    """
    pieces, costs = sum(count for count, _ in receipts), [cost for _, cost in receipts if cost is not None]
    if not pieces or len(costs) < len(receipts):
        return None
    return (2 * sum(costs) * on_hand + pieces) // (2 * pieces)


def taking_refusals(
    *,
    part: str,
    wanted_part: str,
    lot: str,
    good_to: date | None,
    on: date,
    on_hand: int,
    quantity: int,
    fit_for: str = "",
    use: Use | None = None,
    unit: str = Unit.PIECE,
) -> list[Refusal]:
    """Every reason why a quantity of a lot may not be taken for a position on a day; `use` is the gas of the gear."""
    found = []
    if wanted_part and part != wanted_part:
        found.append(
            Refusal("wrong-part", f"The plan asks for {wanted_part} here; lot {lot} is {part}.", "lot")
        )
    if good_to is not None and on > good_to:
        found.append(past_life(lot, good_to))
    if use is not None:
        found += unfit_refusals(part, fit_for, use)
    if quantity > on_hand:
        found.append(not_enough(lot, on_hand, quantity, unit))
    return found


def lot_signs(good_to: date | None, on: date, blocked: Iterable[str]) -> list[str]:
    """Why nothing of a lot may be taken on a day, in a few words each; `blocked` are the codes of what keeps it back."""
    past = ["past its life"] if good_to is not None and on > good_to else []
    return [*past, *dict.fromkeys(BLOCKED.get(code, "blocked") for code in blocked)]


def past_life(lot: str, good_to: date) -> Refusal:
    """What is said of a lot that may no longer be used."""
    return Refusal("past-life", f"Lot {lot} is past its life: good to {good_to.isoformat()}.", "lot")


def not_enough(lot: str, on_hand: int, quantity: int, unit: str) -> Refusal:
    """What is said of a lot with less than is asked for."""
    said = f"Lot {lot} has {in_unit(on_hand, unit)}, less than the {in_unit(quantity, unit)} asked for."
    return Refusal("not-enough", said, "lot")


def place_refusals(
    lot: str, place: str, *, quantity: int, there: int, on_hand: int, unit: str = Unit.PIECE
) -> list[Refusal]:
    """Why a quantity cannot go from one bin though the lot has it: nothing is taken partly from one and partly from another."""
    if there < quantity <= on_hand:
        less = f"less than the {in_unit(quantity, unit)} asked for. Move them together first."
        said = f"Of lot {lot}, {in_unit(there, unit)} lie in {place}, {less}"
        return [Refusal("not-enough-there", said, "bin")]
    return []


def move_refusals(verb: Verb, *, place: str, to: str) -> list[Refusal]:
    """Why the second bin cannot be right: a move needs another one, and nothing else has one."""
    if verb != Verb.MOVE:
        return [Refusal("not-a-move", "Only a move goes into a second bin.", "to")] if to else []
    if not to:
        return [Refusal("no-bin", "Say into which bin it goes.", "to")]
    return [Refusal("same-bin", f"It is in {place} already.", "to")] if to == place else []


def difference(verb: Verb, quantity: int, there: int) -> int:
    """What a movement by hand adds to what lies in its bin; a count states what is there now."""
    match verb:
        case Verb.COUNT:
            return quantity - there
        case Verb.RETURN:
            return quantity
    return -quantity


def by_hand_refusals(
    verb: Verb,
    quantity: int,
    *,
    lot: str,
    on_hand: int,
    unit: str = Unit.PIECE,
) -> list[Refusal]:
    """Why a quantity may not be moved by hand: nothing is moved but by a count, and no more goes than is there."""
    found = []
    if quantity == 0 and verb != Verb.COUNT:
        found.append(Refusal("nothing", "Say how many; only a count may find none.", "quantity"))
    if verb in (Verb.TAKE, Verb.SCRAP, Verb.MOVE) and quantity > on_hand:
        found.append(not_enough(lot, on_hand, quantity, unit))
    return found


@dataclass(frozen=True)
class Usable:
    """How many pieces of a part may be used, and for which gas services it is stated to be fit."""

    pieces: int
    fit_for: str

    def of(self, gas: Gas) -> int:
        """How many go into gear for a gas."""
        return self.pieces if fit(self.fit_for, gas) else 0


@dataclass(frozen=True)
class Claim:
    """So many pieces of a part that an open job still takes: which job, for which day it is promised, where it is seen."""

    part: str
    pieces: int
    by_day: date
    uid: str
    label: str
    address: str


@dataclass(frozen=True)
class Share:
    """A claim, and how many of its pieces are there once the earlier ones have theirs."""

    claim: Claim
    there: int

    @property
    def short(self) -> int:
        """How many are not there."""
        return self.claim.pieces - self.there


@dataclass(frozen=True)
class Level:
    """How many pieces of a part are on hand, how many of them may be used, and how many are spoken for by open jobs.

    Pieces in kits that are not opened yet may be used, though they are not on hand as this part.
    """

    on_hand: int
    in_life: int
    spoken_for: int

    @property
    def free(self) -> int:
        """How many nobody speaks for; below zero it is how many are short."""
        return self.in_life - self.spoken_for

    @property
    def short(self) -> int:
        """How many are asked for beyond what may be used."""
        return max(0, -self.free)


def shares(claims: Iterable[Claim], in_life: int) -> list[Share]:
    """What each claim gets of the pieces that may be used, in the order of the days for which the jobs are promised."""
    found = []
    for claim in sorted(claims, key=lambda each: each.by_day):
        there = min(claim.pieces, in_life)
        in_life -= there
        found.append(Share(claim, there))
    return found


def spoken_refusals(part: str, level: Level, quantity: int, unit: str = Unit.PIECE) -> list[Refusal]:
    """Why a quantity of a part is not taken for anything but a job without a word: open jobs or bookings still need it."""
    if not level.spoken_for or quantity <= level.free:
        return []
    said = (
        f"Of {part}, {in_unit(level.in_life, unit)} may be used and open jobs and bookings still need {in_unit(level.spoken_for, unit)}; "
        f"you ask for {in_unit(quantity, unit)}. "
        "Say that they are taken in spite of that, or leave them."
    )
    return [Refusal("spoken-for", said, "in_spite")]


def return_refusals(lot: str, quantity: int, out: int, unit: str = Unit.PIECE) -> list[Refusal]:
    """Why so much of a lot cannot be put back: no more comes back than was taken; what is found is counted instead."""
    if quantity <= out:
        return []
    said = f"Of lot {lot}, {in_unit(out, unit)} were taken or scrapped and not put back, less than the {in_unit(quantity, unit)} said. "
    return [Refusal("never-taken", said + "Count the bin if more lie there.", "quantity")]


def unit_refusals(unit: str, asked: str | None, *, counted: bool) -> list[Refusal]:
    """Why a part may not be counted in another unit: what was `counted` in the old one would mean something else."""
    if asked is None or asked == unit or not counted:
        return []
    said = f"It is counted in {counted_in(unit)}, and that stays: lots or kits of it stand here."
    return [Refusal("unit-kept", said, "unit")]


def level_refusals(minimum: int | None, up_to: int | None) -> list[Refusal]:
    """Why levels cannot stand so: both are given or none, and what is ordered up to lies above the minimum."""
    if (minimum is None) != (up_to is None):
        return [
            Refusal("one-level", "Give both levels, or neither.", "up_to" if up_to is None else "minimum")
        ]
    if minimum is not None and up_to is not None and up_to <= minimum:
        return [Refusal("levels", "What is ordered up to lies above the minimum.", "up_to")]
    return []


def to_order(minimum: int | None, up_to: int | None, free: int) -> int:
    """How many to order now: up to the upper level once no more than the minimum is free; 0 for none."""
    if minimum is None or up_to is None or free > minimum:
        return 0
    return up_to - free
