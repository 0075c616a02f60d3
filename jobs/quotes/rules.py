"""How an amount that was put to a customer stands, and why an answer by link is not taken. Pure."""

from dataclasses import dataclass
from enum import StrEnum

from shop.workshop.rules import Refusal, priced

CALL = "Call us if you want something else."


class Became(StrEnum):
    """What became of an amount that was put to a customer."""

    AGREED = "agreed"
    DECLINED = "declined"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True)
class Waits:
    """What is known of a supplement that waits: for how many days, and what speaks against a letter about it.

    `here`: its job goes on. `kept`: its gear is kept as evidence. `pays`: the customer pays themselves. `linked`: a private link
    to the drop-off is open, so they were told by letter before.
    """

    days: int
    here: bool = True
    kept: bool = False
    pays: bool = True
    address: bool = True
    linked: bool = True
    asked_again: bool = False


def asks_again(waits: Waits, nudge_days: int | None) -> bool:
    """Whether one letter asks again; where it does not, the supplement stays on the list for the telephone."""
    free = waits.here and waits.pays and waits.address and waits.linked
    return (
        bool(nudge_days)
        and waits.days >= (nudge_days or 0)
        and free
        and not (waits.kept or waits.asked_again)
    )


def put_refusals(amount: int, price: int, currency: str, *, pays: bool, ended: bool) -> list[Refusal]:
    """Why an amount is not put to a customer."""
    found = []
    if not pays:
        said = "Somebody else pays for this drop-off: ask them in person or by telephone."
        found.append(Refusal("another-pays", said))
    if ended:
        found.append(Refusal("nothing-open", "No job of this drop-off is open."))
    if amount < price:
        said = f"The plans come to {priced(price, currency)}: with less work could not begin."
        found.append(Refusal("below-the-price", said, "amount"))
    return found


def answer_refusals(became: str, amount: int, price: int) -> list[Refusal]:
    """Why an answer is not taken: it was answered or withdrawn, or the estimate has risen above the amount."""
    if became == Became.WITHDRAWN:
        return [Refusal("withdrawn", f"The workshop has taken this back. {CALL}")]
    if became:
        return [Refusal("answered", f"You have {became} already. {CALL}")]
    if price > amount:
        said = "The estimate has changed since: the workshop has to put the new amount to you."
        return [Refusal("changed", said)]
    return []
