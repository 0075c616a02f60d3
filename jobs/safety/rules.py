"""What a safety notice names, and how a mark compares with it. Pure.

A range goes from one mark to another in the order of `shop.gear.rules`: run by run, letters by the alphabet, numbers by
what they count. What begins as the upper end does is within it. A mark cannot be compared where nothing of it can be read,
where it begins with a number and the range with a letter or the other way round, or where it ends before the range is told
apart from it. What cannot be compared counts as a match to be looked at: to look once more is better than to miss one.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shop.gear.rules import MOST_DIGITS, key_of, runs

MOST_LINES, MOST_SHOWN = 500, 200
_BETWEEN = re.compile(r"\s*(?:[–—,;\t]|\.\.|\s(?:to|[-−])\s)\s*", re.IGNORECASE)
_CUT_OFF = re.compile(r"^to\s|(^|\s)to$|^[-‐‑–—−.,;]|[-‐‑–—−.,;]$", re.IGNORECASE)
_HYPHEN = re.compile(r"\s*[-‐‑−]\s*")
_ALL = "9" * (MOST_DIGITS + 2)  # after every key that goes on from here
Span = tuple[str, str]


class Dates(StrEnum):
    """Of what a notice's period is: of an item no day of making is on record, so there it narrows nothing down."""

    MADE = "made"
    HERE = "serviced or received here"


class How(StrEnum):
    """Why something matches."""

    NAMED = "named"
    UNCLEAR = "cannot be compared"
    FITTED = "a part of a named lot was fitted"


@dataclass(frozen=True)
class Range:
    """One line of a notice: from one mark to another, or every mark that begins so (no `last`)."""

    first: tuple[str, ...]
    last: tuple[str, ...] | None


@dataclass(frozen=True)
class Sought:
    """Where the keys of marks lie that a notice names, those that cannot be compared with it, and single ones of these."""

    named: tuple[Span, ...]
    unclear: tuple[Span, ...]
    exact: frozenset[str]

    def names(self, key: str) -> bool:
        return any(low <= key <= high for low, high in self.named)

    def cannot_tell(self, key: str) -> bool:
        return key in self.exact or any(low <= key <= high for low, high in self.unclear)


def read_range(line: str) -> Range | str:
    """A line as a range, or what is wrong with it: `AB1200 to AB3499` (or –, or a comma), `AB12*`, or one mark."""
    ends = _BETWEEN.split(line.strip())
    if not all(each.strip() for each in ends) or (len(ends) == 1 and _CUT_OFF.search(line.strip())):
        return "it is cut off, one of two ends is missing; a mark that begins or ends with “to” is written without blanks"
    if len(ends) > 2:
        return "it has more than two ends"
    if len(ends) == 1 and line.strip().endswith("*"):
        return _beginning(line.strip().rstrip("*"))
    if len(ends) == 1 and _may_be_two(line.strip()):
        return "its hyphen may stand within one mark or between two: write “to” between two, or leave it out"
    first, last = runs(ends[0]), runs(ends[-1])
    if not first or not last:
        return f"it needs Latin letters and digits, numbers of at most {MOST_DIGITS} digits"
    if _kinds(first) != _kinds(last):
        return "its two ends are not built alike"
    if len(ends) > 1 and "0" not in _kinds(first):
        return "its two ends hold no number"
    if key_of(last) < key_of(first):
        return "its end comes before its beginning"
    return Range(first, last)


def _beginning(text: str) -> Range | str:
    found = runs(text)
    if found and not found[-1].strip("0"):
        found = found[:-1]  # zeros before a number do not count
    return Range(found, None) if found else "a beginning needs a letter or a number above zero"


def _kinds(found: Sequence[str]) -> str:
    return "".join("0" if run[0].isdigit() else "A" for run in found)


def _may_be_two(line: str) -> bool:
    """Whether the middle hyphen of a line parts two marks that are built alike."""
    parts = _HYPHEN.split(line)
    half = len(parts) // 2
    if len(parts) % 2:
        return False
    left, right = (_kinds(runs("".join(each))) for each in (parts[:half], parts[half:]))
    return left == right and "0" in left


def _spans(each: Range) -> tuple[list[Span], Span, set[str]]:
    """Of one range: where the keys lie that it names, of which other kind none can be compared, and which single ones."""
    begun = {key_of(end[:n]) for end in (each.first, each.last or ()) for n in range(1, len(end))}
    letters = not each.first[0][0].isdigit()
    other = ("0", "3" + _ALL) if letters else ("4", _ALL)
    if each.last is not None:
        return [(key_of(each.first), key_of(each.last) + _ALL)], other, begun
    head, end = key_of(each.first[:-1]), each.first[-1]
    if not end[0].isdigit():
        return [(key := key_of(each.first), key + _ALL)], other, begun
    longer = [f"{head}{count:02d}{end}" for count in range(len(end), MOST_DIGITS + 1)]
    return [(key, key + _ALL) for key in longer], other, begun


def sought(ranges: Iterable[Range]) -> Sought:
    """All ranges of a notice together."""
    found = [_spans(each) for each in ranges]
    named = [span for spans, _, _ in found for span in spans]
    exact = {"", *(key for _, _, begun in found for key in begun)}
    return Sought(_joined(named), _joined(other for _, other, _ in found), frozenset(exact))


def _joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Spans in order, those that overlap as one."""
    found: list[Span] = []
    for low, high in sorted(spans):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(high, found[-1][1]))
        else:
            found.append((low, high))
    return tuple(found)


def how_of(marks: Iterable[tuple[str, bool]], by: Sought) -> How | None:
    """How a thing matches by its marks, each a key and whether it was read for sure; None where it does not.

    One mark that is named is enough; it cannot be told where no mark can be compared, or where there is none.
    """
    marks = list(marks)
    if any(by.names(key) for key, _ in marks):
        return How.NAMED
    return How.UNCLEAR if all(not read or by.cannot_tell(key) for key, read in marks) else None


def read_lot(line: str) -> tuple[str, str] | str:
    """A line as the number of a part and its lots (`TH-302: L-2231`, or with a comma), or what is wrong with it."""
    part, _, lots = (
        line.partition(":") if ":" in line else re.sub(r"[;\t]", ",", line, count=1).partition(",")
    )
    part, lots = part.strip(), lots.strip()
    if not part or not lots:
        return "write the number of the part, a colon, and the lot"
    wrong = read_range(lots)
    return (part, lots) if isinstance(wrong, Range) else wrong
