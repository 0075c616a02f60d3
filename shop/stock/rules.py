"""Cure quarters, shelf life, and whether a lot may be taken. Pure.

The day rule: the last day of the quarter counts as the day of manufacture, and a lot is usable on its last day.
"""

import re
from datetime import date

from shop.workshop.rules import Refusal, add_months

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
        found.append(
            Refusal("past-life", f"Lot {lot} is past its life: good to {good_to.isoformat()}.", "lot")
        )
    if quantity > on_hand:
        found.append(Refusal("not-enough", f"Lot {lot} has {on_hand}; {quantity} are asked for.", "lot"))
    return found
