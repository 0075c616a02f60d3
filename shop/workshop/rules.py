"""Words every room shares: refusals, and month arithmetic."""

import calendar
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Refusal:
    """One reason why something was not done: a stable code, a sentence for people, the field it concerns if any."""

    code: str
    sentence: str
    pointer: str = ""


class Refused(Exception):
    """The state of things does not allow it; nothing was changed. Carries every reason at once."""

    def __init__(self, refusals: Iterable[Refusal]):
        self.refusals = list(refusals)
        super().__init__("; ".join(refusal.sentence for refusal in self.refusals))


class Stale(Exception):
    """Somebody changed the row since the caller saw it."""

    def __init__(self, present: int):
        self.present = present
        super().__init__(f"It has been changed since you saw it; it is at version {present} now.")


def refuse(refusals: Iterable[Refusal]) -> None:
    """Raise Refused when there is any reason; otherwise do nothing."""
    if found := list(refusals):
        raise Refused(found)


def add_months(day: date, months: int) -> date:
    """The same day of the month `months` later, or that month's last day when it is shorter."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))
