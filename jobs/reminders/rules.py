"""The ladder of reminders, and what a letter says. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

# Days from the due date at which a letter may be written; after an outage only the newest rung reached is.
LADDER = (-28, 0, 30)


@dataclass(frozen=True)
class Due:
    """One clock as the letter names it."""

    item: str
    title: str
    due: date


def rung(due: date, on: date) -> int | None:
    """The newest rung that a clock has reached on a day, or None before the first."""
    reached = [days for days in LADDER if (on - due).days >= days]
    return reached[-1] if reached else None


def subject(dues: Iterable[Due], on: date) -> str:
    """The subject line: nothing personal."""
    late = any(due.due < on for due in dues)
    return "Your diving gear is past its service date" if late else "Your diving gear is due for service"


def letter(name: str, workshop: str, dues: Iterable[Due], on: date) -> str:
    """The text of one letter with every due item in it."""
    lines = [
        f"- {due.item}: {due.title}, {'was due' if due.due < on else 'due'} on {due.due:%-d %B %Y}"
        for due in dues
    ]
    return "\n".join(
        [
            f"Dear {name},",
            "",
            "by our records this is due:",
            "",
            *lines,
            "",
            "Please do not dive with gear that is past its service date. The maker's instructions and your local",
            "rules decide what must be done and when; this letter only repeats what our records say.",
            "",
            "To bring it in, answer this letter or come to the counter. If it has been serviced elsewhere, sold or",
            "put away, tell us and we stop writing about it.",
            "",
            workshop,
            "",
        ]
    )
