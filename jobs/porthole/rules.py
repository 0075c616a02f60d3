"""What a customer is told of gear that is here, and what a private link alone may do. Pure."""

from collections.abc import Collection
from datetime import datetime, timedelta

from jobs.flow.rules import HoldKind, Leg, Outcome
from shop.workshop.rules import Refusal

# How long after the last of it has gone a drop-off is still shown; our own choice.
AFTER_HAND_BACK = timedelta(days=30)
# What a private link alone may do: a letter may have been passed on, and everything asked is read by somebody.
MOST_OPEN = 3
MOST_A_DAY = 10
MOST_SIGNS = 1000

_LEGS = {
    Leg.CHECKED_IN: "It is with us. Work on it has not begun.",
    Leg.CLEARED: "It waits for its turn at the bench.",
    Leg.STRIPPING: "It is being taken apart and looked at.",
    Leg.CLEANING: "It is apart and is being cleaned.",
    Leg.REBUILDING: "It is being put together again.",
    Leg.TESTING: "It is being tested and adjusted.",
    Leg.HANDED_BACK: "It was handed back.",
    Leg.DISPOSED: "It was disposed of, because nobody collected it.",
}
_OUTCOMES = {
    Outcome.SERVICED: "It was serviced.",
    Outcome.FAILED: "It failed its tests.",
    Outcome.BEYOND_REPAIR: "It cannot be repaired.",
    Outcome.CONDEMNED: "It was condemned: it must not be used again.",
    Outcome.DECLINED: "It goes back without the service.",
}
OUTSIDE = "It is at a test station outside our workshop."
WITH_US = "It is with us."
WAITS = ("waits for an answer from you", "waits for a part", "stands still for now")
CLOSED = (Leg.SIGNED_OFF, Leg.HANDED_BACK, Leg.DISPOSED)


def state_of(leg: str, outcome: str, *, outside: bool = False) -> list[str]:
    """Where a piece of gear is, in sentences for whoever owns it."""
    if leg == Leg.SIGNED_OFF:
        return [_OUTCOMES[Outcome(outcome)]]
    if outside and leg not in CLOSED:
        return [OUTSIDE]
    said = _LEGS[Leg(leg)]
    return [_OUTCOMES[Outcome(outcome)], said] if outcome and leg == Leg.HANDED_BACK else [said]


def warns(leg: str, outcome: str) -> bool:
    """Whether a customer is told not to dive with it: its work is closed with another outcome than serviced."""
    return leg in CLOSED and outcome != Outcome.SERVICED


def waits_for(kinds: Collection[str]) -> str:
    """What work on it waits for; the reasons that stand on holds are the workshop's own and are never told."""
    if not kinds:
        return ""
    if HoldKind.CUSTOMER in kinds:
        return WAITS[0]
    return WAITS[1] if set(kinds) == {HoldKind.PARTS} else WAITS[2]


def over(gone_at: datetime | None, present: datetime) -> bool:
    """Whether a drop-off is shown no more; `gone_at`: when the last of it left, None while something is here."""
    return gone_at is not None and present >= gone_at + AFTER_HAND_BACK


def question_refusals(open_ones: int, today: int) -> list[Refusal]:
    """Why no more is asked by a link: `open_ones` wait for an answer, `today` were asked today."""
    found = []
    if open_ones >= MOST_OPEN:
        said = f"{MOST_OPEN} of your questions wait for an answer. Call us if it cannot wait."
        found.append(Refusal("asked-enough", said, "text"))
    if today >= MOST_A_DAY:
        said = f"{MOST_A_DAY} questions were asked today: go on tomorrow, or call us."
        found.append(Refusal("asked-often", said, "text"))
    return found
