"""How marks are compared, as runs of letters and of numbers in the order of people; whether an item is still in use. Pure."""

import re
import unicodedata
from enum import StrEnum

from shop.workshop.rules import Refusal

MOST_DIGITS = 18  # a longer number is not compared
LONGEST = 240  # what a mark of 80 signs comes to at most, unless its signs are compositions of many
_FIRST_LETTER = 40  # above every count of digits, so that a number stands before a letter


def runs(text: str) -> tuple[str, ...]:
    """A mark as runs of letters and numbers; empty where it cannot be compared.

    Case, accents, widths of signs, spaces and marks between the signs do not count, nor do zeros before a number.
    A sign that is no Latin letter and no digit, or a number of more than MOST_DIGITS digits, cannot be compared.
    """
    plain = unicodedata.normalize("NFKD", text).upper()
    signs = "".join(sign for sign in plain if sign.isalnum())
    if not signs.isascii():
        return ()
    found = tuple(run.lstrip("0") or "0" if run[0].isdigit() else run for run in _cut(signs))
    return found if all(len(run) <= MOST_DIGITS for run in found if run[0].isdigit()) else ()


def _cut(signs: str) -> list[str]:
    return re.findall(r"[A-Z]+|[0-9]+", signs)


def key_of(found: tuple[str, ...]) -> str:
    """Runs as digits whose order as text is theirs on every engine and in every collation.

    A letter is two digits from 40 on; a number is its count of digits as two, then its digits.
    """
    return "".join(
        f"{len(run):02d}{run}"
        if run[0].isdigit()
        else "".join(str(_FIRST_LETTER + ord(sign) - ord("A")) for sign in run)
        for run in found
    )


def mark_key(text: str) -> str:
    """The key of a mark as it was read; empty where it cannot be compared."""
    key = key_of(runs(text))
    return key if len(key) <= LONGEST else ""


class Standing(StrEnum):
    """What became of an item; all but the first stop its clocks or end them."""

    IN_USE = "in use"
    PUT_AWAY = "put away dry"
    SOLD = "sold"
    LOST = "lost"
    CONDEMNED = "condemned"
    BEYOND_REPAIR = "beyond repair"


# Out of these nothing leads but the round that said so, opened again.
FOR_GOOD = (Standing.CONDEMNED, Standing.BEYOND_REPAIR)


def standing_refusals(before: str, standing: str) -> list[Refusal]:
    """Why an item is not said to stand so."""
    if before == standing:
        return [Refusal("stands-so", f"It is {standing} already.", "standing")]
    if before in FOR_GOOD:
        said = f"It is {before}. Only another round of the job that found it so takes that back."
        return [Refusal("for-good", said, "standing")]
    return []
