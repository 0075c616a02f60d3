"""On which days gear may be dropped off by appointment, and how a booking stands. Pure."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from shop.workshop.rules import Refusal, open_on

MOST_OFFERED = 30
SOON = timedelta(days=60)  # who comes early is serviced for what falls due so soon after; our own choice
# What a private link alone may do: a letter may have been passed on, and each booking or move writes one.
MOST_COMING = 2
MOST_A_DAY = 5
TWICE = "That day is booked already; to bring other gear or say something else, cancel it and book again."
BOOKED_ALREADY = Refusal("booked-already", TWICE, "day")


class Became(StrEnum):
    """How a booking stands."""

    COMING = "coming"
    CAME = "came"
    NOT_COME = "not come"
    CANCELLED = "cancelled"


@dataclass(frozen=True)
class Days:
    """How many drop-offs a day has room for but for the workshop's closed days, and how far ahead; 0 offers none."""

    a_day: int = 0
    horizon: int = 0
    closed_weekdays: Collection[int] = ()
    closed_days: Collection[str] = ()

    def open(self, day: date) -> bool:
        return self.a_day > 0 and open_on(day, self.closed_weekdays, self.closed_days)

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


def link_refusals(day: date, present: date, coming: int, done: int) -> list[Refusal]:
    """Why whoever holds a link cannot book a day; `coming` others stand, `done` were booked or moved today."""
    found = []
    if day == present:
        said = "By the link days are booked from tomorrow on: call the workshop about today."
        found.append(Refusal("day-today", said, "day"))
    if coming >= MOST_COMING:
        said = f"{MOST_COMING} days are booked already: move one of them, or call the workshop."
        found.append(Refusal("booked-enough", said))
    if done >= MOST_A_DAY:
        said = f"{MOST_A_DAY} days were booked or moved today: go on tomorrow, or call the workshop."
        found.append(Refusal("booked-often", said))
    return found


def became(day: date, present: date, *, came: bool, cancelled: bool) -> Became:
    """How a booking stands on a day."""
    if cancelled:
        return Became.CANCELLED
    if came:
        return Became.CAME
    return Became.NOT_COME if day < present else Became.COMING
