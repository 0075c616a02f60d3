"""Whether gear may go over the counter. Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from jobs.flow.rules import Leg, Outcome
from shop.workshop.rules import Refusal


@dataclass(frozen=True)
class Ready:
    """A job of the drop-off as hand-back looks at it."""

    item: str
    leg: str
    outcome: str


def hand_back_refusals(
    ready: Mapping[str, Ready], scanned: Iterable[str], *, acknowledged: bool
) -> list[Refusal]:
    """Each item is scanned, belongs here and is signed off; what was not serviced is acknowledged as "do not dive"."""
    items = list(scanned)
    found = []
    if not items:
        found.append(Refusal("nothing-scanned", "Scan each item that goes back.", "items"))
    if len(set(items)) < len(items):
        found.append(Refusal("scanned-twice", "An item was scanned twice.", "items"))
    for number in dict.fromkeys(items):
        job = ready.get(number)
        if job is None:
            found.append(
                Refusal(
                    "not-of-this-drop-off",
                    f"{number} is no item, bag or mark of this drop-off, or of more than one; "
                    f"here are {', '.join(ready)}.",
                    "items",
                )
            )
        elif job.leg == Leg.HANDED_BACK:
            found.append(Refusal("handed-back-before", f"{number} has been handed back already.", "items"))
        elif job.leg != Leg.SIGNED_OFF:
            found.append(
                Refusal(
                    "not-signed-off",
                    f"{number} is not signed off; it is on {job.leg.replace('_', ' ')}.",
                    "items",
                )
            )
        elif job.outcome != Outcome.SERVICED and not acknowledged:
            said = f"{number} is {job.outcome}: the collector must acknowledge “do not dive”."
            found.append(Refusal("do-not-dive", said, "acknowledged"))
    return found
