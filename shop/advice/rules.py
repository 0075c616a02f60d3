"""From the pattern of a result to the part that is likely behind it: advice of the trade, never a finding. Pure."""

from collections.abc import Collection
from enum import StrEnum
from typing import Protocol

SOURCE = "Common practice, no source."


class Side(StrEnum):
    """In what way something was not as it should be."""

    ABOVE = "above"
    BELOW = "below"
    FAILED = "failed"
    SEEN = "seen"

    @property
    def label(self) -> str:
        return {"above": "too high", "below": "too low", "failed": "failed or rejected", "seen": "seen"}[self]


# What was measured or tried, by its quantity, its test's key or its function's key, and on which side.
Sign = tuple[str, str]


class Cause(Protocol):
    """A row of advice as the rules look at it; an empty kind means any gear."""

    @property
    def what(self) -> str: ...
    @property
    def side(self) -> str: ...
    @property
    def kind(self) -> str: ...


def answers(row: Cause, signs: Collection[Sign], kind: str) -> bool:
    """Whether a row answers what a result shows on gear of a kind."""
    return row.kind in ("", kind) and (row.what, row.side) in signs
