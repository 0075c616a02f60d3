"""Cure quarters, shelf life, and whether a lot may be taken. Pure.

The day rule: the last day of the quarter counts as the day of manufacture, and a lot is usable on its last day.
"""

import re
from datetime import date
from enum import StrEnum

from shop.workshop.rules import Refusal, add_months


class Verb(StrEnum):
    """What a movement is: three of them are done by hand beside a job, and a count states what is there."""

    RECEIVE = "receive"
    TAKE = "take"
    RETURN = "return"
    SCRAP = "scrap"
    COUNT = "count"


BY_HAND = {
    Verb.TAKE: "Take it for something other than a job",
    Verb.RETURN: "Put it back",
    Verb.SCRAP: "Scrap it",
    Verb.COUNT: "Count what is there",
}
_QUARTER = re.compile(r"([1-4])Q(\d{2}|\d{4})|([1-4])/(\d{2}|\d{4})")
PIVOT = 70  # a two-digit year from 70 on is of the last century


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


def last_good_day(cured: date, life_months: int | None) -> date | None:
    """The last day on which a lot may be used; None when its life is not limited."""
    return None if life_months is None else add_months(cured, life_months)


def taking_refusals(
    *,
    part: str,
    wanted_part: str,
    lot: str,
    good_to: date | None,
    on: date,
    on_hand: int,
    quantity: int,
) -> list[Refusal]:
    """Every reason why a quantity of a lot may not be taken for a position on a day."""
    found = []
    if wanted_part and part != wanted_part:
        found.append(
            Refusal("wrong-part", f"The plan asks for {wanted_part} here; lot {lot} is {part}.", "lot")
        )
    if good_to is not None and on > good_to:
        found.append(past_life(lot, good_to))
    if quantity > on_hand:
        found.append(not_enough(lot, on_hand, quantity))
    return found


def past_life(lot: str, good_to: date) -> Refusal:
    """What is said of a lot that may no longer be used."""
    return Refusal("past-life", f"Lot {lot} is past its life: good to {good_to.isoformat()}.", "lot")


def not_enough(lot: str, on_hand: int, quantity: int) -> Refusal:
    """What is said of a lot with less than is asked for."""
    return Refusal("not-enough", f"Lot {lot} has {on_hand}; {quantity} are asked for.", "lot")


def difference(verb: Verb, quantity: int, on_hand: int) -> int:
    """What a movement by hand adds to what is on hand; a count states what is there now."""
    match verb:
        case Verb.COUNT:
            return quantity - on_hand
        case Verb.RETURN:
            return quantity
    return -quantity


def by_hand_refusals(
    verb: Verb, quantity: int, *, lot: str, good_to: date | None, on: date, on_hand: int
) -> list[Refusal]:
    """Why a quantity may not be moved by hand: nothing is moved but by a count, and what is past its life may go, not be used."""
    found = []
    if quantity == 0 and verb != Verb.COUNT:
        found.append(Refusal("nothing", "Say how many; only a count may find none.", "quantity"))
    if verb == Verb.TAKE and good_to is not None and on > good_to:
        found.append(past_life(lot, good_to))
    if verb in (Verb.TAKE, Verb.SCRAP) and quantity > on_hand:
        found.append(not_enough(lot, on_hand, quantity))
    return found
