"""On which days gear may be dropped off by appointment, and the words of the letters about it. Pure."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from shop.workshop.rules import Refusal

WEEKDAYS = [
    (1, "Monday"), (2, "Tuesday"), (3, "Wednesday"), (4, "Thursday"), (5, "Friday"), (6, "Saturday"), (7, "Sunday"),
]  # fmt: skip
MOST_OFFERED = 30


class Became(StrEnum):
    """How a booking stands."""

    COMING = "coming"
    CAME = "came"
    NOT_COME = "not come"
    CANCELLED = "cancelled"


class Note(StrEnum):
    """What a letter about a booking says."""

    BOOKED = "booked"
    DAY_BEFORE = "day before"
    MOVED = "moved"
    CANCELLED = "cancelled"


@dataclass(frozen=True)
class Days:
    """How many drop-offs a day has room for, on which weekdays but for closed days, and how far ahead; 0 offers none."""

    a_day: int = 0
    weekdays: frozenset[int] = frozenset()
    closed: frozenset[date] = frozenset()
    horizon: int = 0

    def open(self, day: date) -> bool:
        return self.a_day > 0 and day.isoweekday() in self.weekdays and day not in self.closed

    def ahead(self, present: date) -> Iterator[date]:
        """The open days after the present one, as far as the horizon."""
        days = (present + timedelta(days=n) for n in range(1, self.horizon + 1))
        return (day for day in days if self.open(day))


def day_refusals(day: date, present: date, days: Days, taken: int) -> list[Refusal]:
    """Why a day cannot be booked; today may be, for whoever stands at the counter or calls."""
    if day < present:
        return [Refusal("day-past", "That day has passed.", "day")]
    if day > present + timedelta(days=days.horizon):
        return [Refusal("day-far", f"Days are booked {days.horizon} days ahead at most.", "day")]
    if not days.open(day):
        return [Refusal("day-closed", "The workshop takes no drop-offs on that day.", "day")]
    if taken >= days.a_day:
        said = f"There is no room left on that day: {days.a_day} drop-offs are booked."
        return [Refusal("day-full", said, "day")]
    return []


def became(day: date, present: date, *, came: bool, cancelled: bool) -> Became:
    """How a booking stands on a day."""
    if cancelled:
        return Became.CANCELLED
    if came:
        return Became.CAME
    return Became.NOT_COME if day < present else Became.COMING


_SUBJECT = {
    Note.BOOKED: "Your drop-off is booked",
    Note.DAY_BEFORE: "Your drop-off is tomorrow",
    Note.MOVED: "Your drop-off was moved",
    Note.CANCELLED: "Your drop-off was cancelled",
}
_SAID = {
    Note.BOOKED: "your drop-off is booked for {day}.",
    Note.DAY_BEFORE: "you booked a drop-off for tomorrow, {day}.",
    Note.MOVED: "your drop-off was moved to {day}.",
    Note.CANCELLED: "your drop-off on {day} was cancelled.",
}


def letter(note: Note, name: str, house: str, day: date, address: str) -> tuple[str, str]:
    """Subject and text of a letter about a booking."""
    change = "To book another day:" if note is Note.CANCELLED else "To move or cancel it:"
    lines = [
        f"Dear {name},",
        "",
        _SAID[note].format(day=f"{day:%A, %-d %B %Y}"),
        "",
        change,
        address,
        "",
        house,
        "",
    ]
    return _SUBJECT[note], "\n".join(lines)
