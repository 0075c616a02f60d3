"""What a line on the counter must say. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from shop.workshop.rules import Refusal


@dataclass(frozen=True)
class Put:
    """A line as it is put on the counter: the number of its item (empty before it is itemised) and what goes with it."""

    item: str
    has_plan: bool
    follows: bool
    parts_only: bool
    words: str


def line_refusals(lines: Sequence[Put]) -> list[Refusal]:
    """An item has a plan unless it is parts only, stands on one line, and a line without an item says what it is."""
    found, seen = [], set[str]()
    for i, line in enumerate(lines):
        if line.item and line.item in seen:
            found.append(Refusal("item-twice", f"{line.item} stands on two lines.", f"lines-{i}-item"))
        seen.add(line.item)
        if line.item and not line.has_plan and not line.parts_only:
            said = f"Line {i + 1}: say under which plan {line.item} is serviced."
            found.append(Refusal("plan-missing", said, f"lines-{i}-plan"))
        if not line.item and (line.has_plan or line.follows):
            said = f"Line {i + 1}: a plan needs its item; without one the line is itemised later."
            found.append(Refusal("item-missing", said, f"lines-{i}-item"))
        if not line.item and not line.words:
            said = f"Line {i + 1}: name the item, or say in words what was put on the counter."
            found.append(Refusal("line-empty", said, f"lines-{i}-words"))
    return found


def promise_refusals(promised_on: date, on: date) -> list[Refusal]:
    """A day that has passed cannot be promised."""
    if promised_on >= on:
        return []
    return [Refusal("promise-past", "The promised day has passed already.", "promised_on")]
