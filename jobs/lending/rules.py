"""Whether a piece of our own gear may be lent until a day. Pure."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from shop.gear.rules import Standing
from shop.workshop.rules import Refusal

NEVER_BACK = (Standing.SOLD, Standing.LOST, Standing.CONDEMNED, Standing.BEYOND_REPAIR)


@dataclass(frozen=True)
class Watch:
    """One clock that watches the gear: its title and when it is due; no day and not unknown: only a count decides."""

    title: str
    due: date | None = None
    unknown: bool = False


@dataclass(frozen=True)
class Gear:
    """An item as lending looks at it; `job` is its open job, `closed` how its last job ended, `borrower` who has it now."""

    label: str
    ours: bool
    standing: str
    watches: tuple[Watch, ...]
    job: str = ""
    closed: str = ""
    evidence: bool = False
    borrower: str = ""


def gear_refusals(gear: Gear, on: date, until: date) -> list[Refusal]:
    """Every reason why an item is not lent from a day until another, that day included."""
    found = []
    if until < on:
        found.append(Refusal("day-past", "The day it must be back has passed already.", "until"))
    if not gear.ours:
        said = f"{gear.label} is not ours: only gear of a customer who is marked as this workshop is lent."
        found.append(Refusal("not-ours", said))
    if gear.standing != Standing.IN_USE:
        found.append(Refusal("not-in-use", f"{gear.label} is {gear.standing} by our records."))
    found += _clock_refusals(gear, on, until)
    if gear.job:
        found.append(Refusal("open-job", f"{gear.label} is in the workshop's hands: {gear.job} is open."))
    elif gear.closed not in ("", "serviced"):
        said = f"The last job of {gear.label} ended as {gear.closed}: it is lent once a later one ended as serviced."
        found.append(Refusal("not-serviced", said))
    if gear.evidence:
        found.append(Refusal("held", f"{gear.label}, or something of its set, is kept as evidence."))
    if gear.borrower:
        found.append(Refusal("lent", f"{gear.label} is lent already: {gear.borrower} has it."))
    return found


def _clock_refusals(gear: Gear, on: date, until: date) -> Iterator[Refusal]:
    """A clock that nobody knows, that is overdue, or that falls due while the gear is away."""
    if not gear.watches:
        said = f"No clock watches {gear.label}, so nobody knows when it was serviced last."
        yield Refusal("no-clock", said)
    for watch in gear.watches:
        if watch.unknown:
            said = f"{watch.title}: nobody knows when it was done last, which counts as due."
            yield Refusal("history-unknown", said)
        elif watch.due and watch.due < on:
            yield Refusal("overdue", f"{watch.title} was due on {watch.due:%-d %B %Y}.")
        elif watch.due and watch.due <= until:
            said = f"{watch.title} falls due on {watch.due:%-d %B %Y}, before {gear.label} is back."
            yield Refusal("falls-due", said, "until")


def borrower_refusals(name: str, *, ours: bool) -> list[Refusal]:
    """Why somebody is not lent anything."""
    said = f"{name} is this workshop itself: gear is lent to somebody else."
    return [Refusal("to-ourselves", said, "borrower")] if ours else []


def lent_refusal(label: str, borrower: str) -> Refusal:
    """Why an item that is lent is neither checked in nor merged away."""
    said = f"{label} is lent to {borrower} by our records: bring it back on its page first."
    return Refusal("lent", said)
