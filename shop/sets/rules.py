"""Which items may belong together. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from shop.workshop.rules import Refusal


@dataclass(frozen=True)
class In:
    """An item as a set looks at it: `taken` names the set that it belongs to already."""

    label: str
    is_owners: bool
    taken: str = ""
    merged: bool = False


def member_refusals(owner: str, items: Sequence[In]) -> list[Refusal]:
    """Items of a set are of one owner, and each belongs to one set at a time."""
    found = []
    for item in items:
        if item.merged:
            found.append(Refusal("merged", f"{item.label} was merged into another item.", "items"))
        if not item.is_owners:
            found.append(Refusal("another-owner", f"{item.label} does not belong to {owner}.", "items"))
        if item.taken:
            found.append(Refusal("in-a-set", f"{item.label} belongs to {item.taken} already.", "items"))
    return found
