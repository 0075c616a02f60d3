"""Whether gear may go over the counter. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from jobs.flow.rules import Leg, LineState, Outcome
from shop.workshop.rules import Refusal


@dataclass(frozen=True)
class Ready:
    """A job of the drop-off as hand-back looks at it, or a line that never had one.

    `here` is whether the gear is in the workshop by its custody, `set_with` the items of its set that wait here too,
    `declined` what the customer did not want done, and how the gear goes back.
    """

    item: str
    leg: str
    outcome: str
    here: bool = True
    set_with: tuple[str, ...] = ()
    declined: tuple[str, ...] = ()


NO_WARNING = (Outcome.SERVICED, LineState.PARTS_ONLY)


def hand_back_refusals(
    ready: Mapping[str, Ready], scanned: Iterable[str], *, acknowledged: bool, apart: str = ""
) -> list[Refusal]:
    """Each item is scanned, belongs here and is signed off; what was not serviced is acknowledged as "do not dive".

    A set leaves together, unless somebody says why not; what left by the record but is still here may leave again.
    """
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
                    f"here are {_some(ready)}.",
                    "items",
                )
            )
        elif job.leg == Leg.HANDED_BACK and not job.here:
            found.append(Refusal("handed-back-before", f"{number} has been handed back already.", "items"))
        elif job.leg not in (Leg.SIGNED_OFF, Leg.HANDED_BACK):
            found.append(
                Refusal(
                    "not-signed-off",
                    f"{number} is not signed off; it is on {job.leg.replace('_', ' ')}.",
                    "items",
                )
            )
        elif not job.here:
            found.append(Refusal("not-here", f"{number} is not here: look where it is first.", "items"))
        elif job.outcome not in NO_WARNING and not acknowledged:
            said = f"{number} is {job.outcome}: the collector must acknowledge “do not dive”."
            found.append(Refusal("do-not-dive", said, "acknowledged"))
        elif job.declined and not acknowledged:
            said = f"{number}: the collector must acknowledge what was declined: {'; '.join(job.declined)}."
            found.append(Refusal("declined-work", said, "acknowledged"))
        elif not apart and (left := [other for other in job.set_with if other not in items]):
            said = f"{number} belongs to a set with {', '.join(left)}: hand the set back together, or say why not."
            found.append(Refusal("set-apart", said, "apart"))
    return found


def _some(ready: Mapping[str, Ready]) -> str:
    """The first ten of them: a school has sixty."""
    more = f" and {len(ready) - 10} more" if len(ready) > 10 else ""
    return ", ".join(list(ready)[:10]) + more


# Our own rule, no law: what the law of the place asks before gear may be disposed of stands in no table here.
LETTERS_BEFORE_DISPOSAL = 2
DAYS_AFTER_THE_LAST = 28


def disposal_refusals(letters: Sequence[date], on: date, how: str) -> list[Refusal]:
    """Uncollected gear is disposed of only after recorded letters and a wait; telephone calls do not count."""
    found = []
    if len(letters) < LETTERS_BEFORE_DISPOSAL:
        said = f"{len(letters)} of {LETTERS_BEFORE_DISPOSAL} recorded letters have asked the customer to collect."
        found.append(Refusal("letters-missing", said))
    elif (on - max(letters)).days < DAYS_AFTER_THE_LAST:
        said = f"The last letter is of {max(letters).isoformat()}: wait {DAYS_AFTER_THE_LAST} days after it."
        found.append(Refusal("too-soon", said))
    if not how:
        found.append(Refusal("how-missing", "Say what becomes of it.", "how"))
    return found
