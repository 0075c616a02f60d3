"""Counting a bin blind: how far each lot is, and what may be booked. Pure.

A number is held against what was on hand at the instant that it was entered, so that taking goes on meanwhile.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shop.workshop.rules import Refusal


class Standing(StrEnum):
    """How far the counting of a lot is."""

    OPEN = "to be counted"
    AGAIN = "to be counted again"
    SETTLED = "counted"


@dataclass(frozen=True)
class Counted:
    """A number that somebody entered, and what was on hand in the bin at that instant."""

    counted: int
    there: int
    by: int

    @property
    def difference(self) -> int:
        return self.counted - self.there


def standing(lines: Sequence[Counted]) -> Standing:
    """One number that agrees settles a lot, one that differs is counted again; the second stands."""
    if not lines:
        return Standing.OPEN
    return Standing.AGAIN if len(lines) == 1 and lines[0].difference else Standing.SETTLED


def counting_refusals(lines: Sequence[Counted], *, open: bool, by: int, alone: bool) -> list[Refusal]:
    """Why somebody may not enter a number for a lot now."""
    if not open:
        return [closed()]
    match standing(lines):
        case Standing.SETTLED:
            return [Refusal("counted-before", "This lot is counted; the number stands.", "lot")]
        case Standing.AGAIN if lines[0].by == by and not alone:
            said = "Somebody else counts it the second time; or say that you are alone."
            return [Refusal("another-person", said, "alone")]
    return []


def closed() -> Refusal:
    """What is said of a count that was booked or set aside."""
    return Refusal("count-closed", "This count is closed.")


def booking_refusals(
    lots: Mapping[str, Sequence[Counted]], on_hand: Mapping[str, int], *, open: bool
) -> list[Refusal]:
    """Why a count cannot be booked: a lot is not settled, or what was missing is more than is left by now."""
    if not open:
        return [closed()]
    found = []
    for number, lines in lots.items():
        how = standing(lines)
        if how != Standing.SETTLED:
            found.append(Refusal("not-counted", f"Lot {number} is {how.value}."))
        elif on_hand[number] + lines[-1].difference < 0:
            said = f"Of lot {number}, {-lines[-1].difference} were missing and only {on_hand[number]} are left. Count anew."
            found.append(Refusal("below-zero", said))
    return found
