"""What an order is, what may be done with it, and what its pieces cost. Pure; money in the smallest unit of the currency."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from enum import StrEnum

from shop.workshop.rules import Refusal, in_unit


class State(StrEnum):
    """Where an order is; how much of it came is read from its receipts (`standing`)."""

    DRAFT = "draft"
    SENT = "sent"
    CLOSED = "closed"


class How(StrEnum):
    """How an order reached its supplier: only the first is a letter of ours."""

    E_MAIL = "e-mail"
    TELEPHONE = "telephone"
    PAPER = "paper"


def standing(state: str, ordered: int, missing: int, unit: str) -> str:
    """How an order stands, in words: of so much ordered, so much is still missing; `unit` empty where lines have several."""
    if state == State.SENT:
        return "sent" if missing == ordered else "part received"
    left = in_unit(missing, unit) if unit else "some"
    return f"closed, {left} not received" if state == State.CLOSED and missing else state


def packs_for(pieces: int, pack_size: int) -> int:
    """How many whole packs give at least so many pieces."""
    return -(-pieces // pack_size)


def expected(sent_on: date, lead_days: int | None) -> date | None:
    """The day on which an order should come; None where the supplier's lead time is not known."""
    return None if lead_days is None else sent_on + timedelta(days=lead_days)


def cost_of(before: int, quantity: int, pack_size: int, price: int | None) -> int | None:
    """What the next pieces of a line cost after `before` of them came: parts of a pack add up to its price exactly."""
    if price is None:
        return None
    return (before + quantity) * price // pack_size - before * price // pack_size


def draft_refusals(offers: Sequence[str], *, elsewhere: Iterable[str]) -> list[Refusal]:
    """Why parts cannot be put on a draft: nothing is asked for, a part twice, or one that the supplier does not offer."""
    found = [] if offers else [Refusal("nothing", "Say what is ordered.", "packs")]
    for twice in sorted({each for each in offers if offers.count(each) > 1}):
        found.append(Refusal("part-twice", f"{twice} is asked for twice."))
    for part in elsewhere:
        found.append(Refusal("other-supplier", f"{part} is offered by another supplier.", "offer"))
    return found


def changing_refusals(state: str) -> list[Refusal]:
    """Why the lines of an order may not change."""
    if state == State.DRAFT:
        return []
    return [Refusal("order-sent", f"This order is {state}; its lines stay as they were sent.")]


def sending_refusals(state: str, how: str, *, lines: int, email: str) -> list[Refusal]:
    """Why an order may not be sent now in this way."""
    if state != State.DRAFT:
        return [Refusal("order-sent", "This order was sent before.")]
    found = [] if lines else [Refusal("no-lines", "There is nothing on this order yet.")]
    if how == How.E_MAIL and not email:
        said = "The supplier has no e-mail address. Print the order or telephone, and say so here."
        found.append(Refusal("no-email", said, "how"))
    return found


def receiving_refusals(state: str, *, quantity: int, missing: int, more: bool, unit: str) -> list[Refusal]:
    """Why pieces of a line may not be received: more than is missing is taken with a word only."""
    if state != State.SENT:
        said = "not sent yet" if state == State.DRAFT else "closed; receive what comes now beside the part"
        return [Refusal("not-open", f"This order is {said}.")]
    if quantity > missing and not more:
        said = f"Of this line {in_unit(missing, unit)} did not come yet, {in_unit(quantity, unit)} came now. Count again; if it is so, say it."
        return [Refusal("more-than-ordered", said, "more")]
    return []


def taking_back_refusals(
    lot: str, place: str, *, quantity: int, on_hand: int, there: int, unit: str, before: bool
) -> list[Refusal]:
    """Why a receipt cannot be taken back: it was before, or some of what came is gone or has moved to another bin."""
    if before:
        return [Refusal("taken-back", "This receipt was taken back before.")]
    came = in_unit(quantity, unit)
    if on_hand < quantity:
        said = f"Of lot {lot} {in_unit(on_hand, unit)} left, {came} came: some of it is gone, so the receipt stays."
        return [Refusal("already-gone", said)]
    if there < quantity:
        said = f"In {place}, where {came} came, are {in_unit(there, unit)} of lot {lot}. Move the rest back first."
        return [Refusal("not-enough-there", said)]
    return []


def closing_refusals(state: str) -> list[Refusal]:
    """Why an order may not be closed by hand; one of which everything came closes by itself."""
    if state == State.SENT:
        return []
    said = (
        "An order that was not sent needs no closing: take its lines off."
        if state == State.DRAFT
        else "It is closed."
    )
    return [Refusal("not-open", said)]


def order_letter(label: str, rows: Sequence[tuple[int, str, str, str, str]], foot: str) -> str:
    """The letter that sends an order; of each line: packs, what is in one, our number, the name, the supplier's number."""
    lines = [
        f"{packs} pack{'' if packs == 1 else 's'} of {size}: {name} (ours {ours}{f', yours {yours}' if yours else ''})"
        for packs, size, ours, name, yours in rows
    ]
    asked = f"Please send us, and write our order number, {label}, on what you send:"
    end = "The same is in the two files beside this letter, to print and to read in."
    return "\n\n".join([asked, "\n".join(lines), end, foot]) + "\n"
