"""Whether terms are accepted. Pure."""

from enum import StrEnum

from shop.workshop.rules import Refusal


class How(StrEnum):
    """How somebody accepted them: by their name typed on our screen, or signed on paper that we keep."""

    SCREEN = "on screen"
    PAPER = "signed on paper"


def accept_refusals(present: int, shown: int, *, before: bool) -> list[Refusal]:
    """Only the present terms are accepted, by their number (0: there are none), and once for a drop-off."""
    if not present:
        return [Refusal("no-terms", "The workshop has no terms to accept.")]
    if shown != present:
        said = "The terms have changed meanwhile: show the present ones, then accept those."
        return [Refusal("terms-changed", said)]
    return [Refusal("accepted-before", "They were accepted for this drop-off before.")] if before else []
