"""What is left of whom, until when there must be an answer, and why a request is refused. Pure."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from jobs.whose.rules import names
from shop.journal.rules import ERASED
from shop.workshop.rules import Refusal, add_months

WHY = "Texts that named the customer were erased at their request; what was done and measured stands as it was signed."
STAFF = {"technician", "signer", "second", "done_by", "recorded_by", "begun_by", "lead"}  # of a closed record
FOUND = (
    "customers.Customer",
    "gear.Item",
    "flow.DropOff",
    "flow.Line",
    "flow.Job",
)  # what the find box has of theirs


def deadline(asked_on: date) -> date:
    """Until when somebody who asked must have an answer: a month (GDPR, article 12, paragraph 3)."""
    return add_months(asked_on, 1)


def pseudonym(label: str) -> str:
    """What stands for the name of whoever was erased."""
    return f"Erased customer {label}"


def without(value: Any, looked_for: Sequence[str]) -> Any:
    """A value of JSON in which no text names somebody, nor an owner's mark stands; people who work here keep their names."""
    if isinstance(value, dict):
        marked = value.get("kind") == "owner's mark" and value.get("value")
        value = value | {"value": ERASED} if marked else value
        return {key: each if key in STAFF else without(each, looked_for) for key, each in value.items()}
    if isinstance(value, list):
        return [without(each, looked_for) for each in value]
    return ERASED if isinstance(value, str) and names(value, looked_for) else value


def asking_refusals(asked_on: date, today: date, *, waiting: bool) -> list[Refusal]:
    """Why a request to be erased is not written down."""
    found = []
    if asked_on > today:
        found.append(Refusal("in-the-future", "They cannot have asked later than today.", "asked_on"))
    if waiting:
        found.append(Refusal("asked", "A request of theirs is open already."))
    return found


def second_refusals(by: int, second: int | None) -> list[Refusal]:
    """Erasure takes two people."""
    if second is None:
        return [
            Refusal("two-people", "Name the second person: nothing brings back what is erased.", "second")
        ]
    if second == by:
        return [Refusal("two-people", "The second person is somebody else.", "second")]
    return []
