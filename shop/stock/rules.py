"""Cure quarters, shelf life, and whether a lot may be taken. Pure.

The day rule: the last day of the quarter counts as the day of manufacture, and a lot is usable on its last day.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from shop.gases.rules import Use, unfit_refusals
from shop.search.rules import short
from shop.workshop.rules import Refusal, Unit, add_months, counted_in, in_unit


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
FIRST_SITE, FIRST_BIN = "Workshop", "Store"  # where everything lies until somebody says otherwise
_CODE = re.compile(r"l([0-9]{1,15})")
_QUARTER = re.compile(r"([1-4])Q(\d{2}|\d{4})|([1-4])/(\d{2}|\d{4})")
PIVOT = 70  # a two-digit year from 70 on is of the last century


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


def quarter_end(text: str) -> date | None:
    """The last day of a cure quarter written 2Q24 (trade use) or 3/94 (ISO 2230:2002, 5.3 c); None if it is neither."""
    found = _QUARTER.fullmatch(text.strip().upper())
    if not found:
        return None
    quarter, year = int(found[1] or found[3]), int(found[2] or found[4])
    if year < 100:
        year += 1900 if year >= PIVOT else 2000
    if not 1950 <= year <= 2200:
        return None
    month, day = {1: (3, 31), 2: (6, 30), 3: (9, 30), 4: (12, 31)}[quarter]
    return date(year, month, day)


@dataclass(frozen=True)
class LifeRule:
    """A published rule: how long seals of these materials may lie in store. `months` None: without limit.

    `extension_months`: so much longer after an inspection, once; 0 where the rule knows none.
    """

    key: str
    document: str
    materials: tuple[str, ...]
    months: int | None
    extension_months: int = 0
    status: str = "read on a secondary page"

    @property
    def source(self) -> str:
        """How a page and a record name it."""
        return f"{self.document}: {', '.join(self.materials)} ({self.status})"


_ISO = "ISO 2230:2002, clause 4"
_SAE = "SAE AS5316"
# SBR is left out of AS5316: what is printed of it contradicts itself (3 or 15 years).
LIFE_RULES = {
    rule.key: rule
    for rule in (
        LifeRule("iso-2230-a", f"{_ISO}, group A", ("NR", "IR", "AU"), 60, 24),
        LifeRule("iso-2230-b", f"{_ISO}, group B", ("NBR", "HNBR", "CR"), 84, 36),
        LifeRule("iso-2230-c", f"{_ISO}, group C", ("EPDM", "FKM", "VMQ", "FVMQ", "PTFE", "FFKM"), 120, 60),
        LifeRule("as5316-5", _SAE, ("AU", "EU"), 60),
        LifeRule("as5316-15", _SAE, ("NBR", "HNBR", "CR", "ACM"), 180),
        LifeRule("as5316-unlimited", _SAE, ("EPDM", "FKM", "FFKM", "VMQ", "FVMQ", "IIR", "PTFE"), None),
    )
}


def life_refusals(
    rule: LifeRule | None, *, material: str, life_months: int | None, life_source: str
) -> list[Refusal]:
    """Why a life cannot stand so: it needs a rule that says it, one alone, and one that is for the material."""
    if rule is None:
        if life_months is not None and not life_source:
            return [Refusal("life-source", "Say by which rule this life is counted.", "life_source")]
        return []
    found = []
    if life_months is not None or life_source:
        said = "Choose a published rule, or give a life of your own with its rule; not both."
        found.append(Refusal("life-twice", said, "life_rule"))
    if not set(re.split(r"[^A-Z]+", material.upper())) & set(rule.materials):
        said = f"{rule.document} has this life for {', '.join(rule.materials)}; name one of them as the material."
        found.append(Refusal("life-material", said, "material"))
    return found


def extension_refusals(
    rule: LifeRule | None,
    *,
    good_to: date | None,
    use_by: date | None,
    extended: bool,
    of_kit: bool = False,
) -> list[Refusal]:
    """Why the life of a lot may not be extended after an inspection."""
    if rule is None or not rule.extension_months or good_to is None:
        return [Refusal("no-extension", "The rule for the storage life of this part knows no extension.")]
    if of_kit:
        return [Refusal("of-a-kit", "Its pieces came out of a kit, and none lives longer than its kit.")]
    if extended:
        return [Refusal("extended-before", "Its life was extended already; the rule allows it once.")]
    if use_by is not None and use_by <= good_to:
        said = f"The maker's own date, {use_by.isoformat()}, is not extended."
        return [Refusal("maker-date", said)]
    return []


def cure_refusals(text: str, life_months: int | None, on: date) -> list[Refusal]:
    """Why a cure quarter cannot be right: unreadable, not begun yet, or missing where a life is counted from it."""
    if not text and life_months is None:
        return []
    day = quarter_end(text)
    if day is None:
        return [Refusal("cure-date", "Write the cure quarter as 2Q24 or 3/94.", "cured")]
    if day.replace(day=1) > add_months(on, 2).replace(day=1):
        return [Refusal("cure-date", f"The quarter {text} has not begun yet.", "cured")]
    return []


def last_good_day(cured: date | None, life_months: int | None, use_by: date | None = None) -> date | None:
    """The last day on which a lot may be used: by the rule, or the maker's own date if that is sooner.

    None when its life is not limited.
    """
    by_rule = None if life_months is None or cured is None else add_months(cured, life_months)
    return soonest(by_rule, use_by)


def soonest(*days: date | None) -> date | None:
    """The first of the days that are known; None where none is."""
    return min((day for day in days if day is not None), default=None)


def kit_age_refusals(part: str, life_months: int | None, cured: str, good_to: date | None) -> list[Refusal]:
    """Why a kit's piece cannot come into the store: its life is limited, and nothing of the kit says how old it is."""
    if life_months is None or cured or good_to is not None:
        return []
    said = f"{part} has a storage life, and this lot neither cure quarter nor last day: nothing says how old it is."
    return [Refusal("age-unknown", said)]


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


def rule_words(rules: Iterable[LifeRule]) -> list[tuple[str, str]]:
    """The published rules to choose from, each with its figure."""
    return [(rule.key, f"{rule.source}: {_years(rule)}") for rule in rules]


def _years(rule: LifeRule) -> str:
    if rule.months is None:
        return "without limit"
    more = f" and {rule.extension_months // 12} more after inspection" if rule.extension_months else ""
    return f"{rule.months // 12} years{more}"


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
    good_to: date | None,
    on: date,
    on_hand: int,
    unit: str = Unit.PIECE,
) -> list[Refusal]:
    """Why a quantity may not be moved by hand: nothing is moved but by a count, and what is past its life may go, not be used."""
    found = []
    if quantity == 0 and verb != Verb.COUNT:
        found.append(Refusal("nothing", "Say how many; only a count may find none.", "quantity"))
    if verb == Verb.TAKE and good_to is not None and on > good_to:
        found.append(past_life(lot, good_to))
    if verb in (Verb.TAKE, Verb.SCRAP, Verb.MOVE) and quantity > on_hand:
        found.append(not_enough(lot, on_hand, quantity, unit))
    return found


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


def to_order(minimum: int | None, up_to: int | None, in_life: int) -> int:
    """How many to order now: up to the upper level once no more than the minimum is left in life; 0 for none."""
    if minimum is None or up_to is None or in_life > minimum:
        return 0
    return up_to - in_life
