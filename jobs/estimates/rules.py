"""What a drop-off costs, and whether a go-ahead covers it. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from shop.catalogue.rules import Plan
from shop.money.rules import Line, Payer, Rate, Terms, Totals, totals
from shop.workshop.rules import Refusal, money, priced


class State(StrEnum):
    """How a line of an estimate stands."""

    STANDS = "stands"
    LIKELY = "likely"
    ASKED = "asked"
    DECLINED = "declined"
    TAKEN_OFF = "taken off"


class WentBack(StrEnum):
    """What becomes of gear whose supplement was declined."""

    TOGETHER = "put back together"
    BAGGED = "bagged in pieces"


@dataclass(frozen=True)
class Entry:
    """One line of an estimate: the price of a plan, or a charge (`uid`); `key` names it for good, also on bills."""

    key: str
    job: int | None
    tray: int | None
    what: str
    amount: int
    state: str = State.STANDS
    discount: int = 0
    reason: str = ""
    payer: str = Payer.CUSTOMER
    rate: Rate = Rate()
    uid: str | None = None
    plan: str | None = None
    version: int = 0
    includes: str = ""

    @property
    def line(self) -> Line:
        return Line(self.amount, self.rate, self.payer, self.discount)

    @property
    def value(self) -> int:
        return self.line.value


def included(plan: Plan) -> str:
    """What the price of a plan is for: its labour, and the parts that it renews."""
    parts = [part.name for part in plan.parts if part.renew]
    return "; ".join([f"{plan.minutes} min of work", *([", ".join(parts)] if parts else [])])


STANDING = (State.STANDS,)
HOPED = (State.STANDS, State.LIKELY)


def total(
    entries: Iterable[Entry], terms: Terms, states: Iterable[str] = STANDING, payer: str = Payer.CUSTOMER
) -> Totals:
    """What a payer's lines in some states come to."""
    chosen = set(states)
    lines = (each.line for each in entries if each.state in chosen and each.payer == payer)
    return totals(lines, terms)


def covering_refusals(amount: int | None, price: int, currency: str) -> list[Refusal]:
    """Work begins when the go-ahead covers the price of everything in the drop-off."""
    if amount is None:
        return [
            Refusal(
                "no-go-ahead",
                f"There is no go-ahead yet; the plans come to {money(price, currency)} {currency}.",
            )
        ]
    if amount < price:
        said = f"The go-ahead is up to {money(amount, currency)} {currency}; the plans come to {money(price, currency)}."
        return [Refusal("go-ahead-too-low", said)]
    return []


def agreed_in_all(go_ahead: int | None, *, price: int, hoped: int, with_it: int, hoped_with_it: int) -> int:
    """Up to which amount, in all, we may charge once a supplement is agreed to: never less than was agreed before.

    `hoped` is the price with what is only likely; both are given with the supplement too. A go-ahead that holds what is likely
    goes on holding it; one that does not is raised by the supplement alone.

    | plans | likely | go-ahead | supplement | in all |
    |---|---|---|---|---|
    | 105.00 | none | 300.00 | 20.00 | 300.00: it fits |
    | 105.00 | none | 120.00 | 20.00 | 125.00 |
    | 165.00 | 12.50 | 177.50 | 20.00 | 197.50 |
    | 165.00 | 12.50 | 190.00 | 20.00 | 197.50 |
    | 165.00 | 12.50 | 165.00 | 20.00 | 185.00: what is likely was not agreed to |
    | 165.00 | 12.50 | 170.00 | 20.00 | 190.00 |
    | 165.00 | 12.50 | 100.00 or none | 20.00 | 185.00 |
    """
    before = go_ahead or 0
    if before >= hoped:
        return max(before, hoped_with_it)
    return max(with_it, before + with_it - price)


def lowering_refusals(amount: int | None, go_ahead: int | None, with_it: int, currency: str) -> list[Refusal]:
    """An answer to a supplement lowers no go-ahead, and covers what it agrees to."""
    if amount is None:
        return []
    if amount < (go_ahead or 0):
        said = (
            f"The go-ahead is up to {priced(go_ahead or 0, currency)}: agreeing to more never lowers it. If the customer does, "
            "take that as a new go-ahead."
        )
        return [Refusal("below-go-ahead", said, "amount")]
    if amount < with_it:
        said = f"With this the plans come to {priced(with_it, currency)}: with less work could not go on."
        return [Refusal("below-the-price", said, "amount")]
    return []


def said_refusals(said_on: date, today: date) -> list[Refusal]:
    """What somebody said was said today or before."""
    return [Refusal("day-to-come", "This day is still to come.", "said_on")] if said_on > today else []


def changing_refusals(state: str) -> list[Refusal]:
    """Only a line that stands or is likely is taken off."""
    if state in HOPED:
        return []
    said = {
        State.ASKED: "The customer was asked about it: write the answer down first.",
        State.DECLINED: "The customer declined it, and that stays on record.",
    }
    return [Refusal("not-standing", said.get(State(state), "It was taken off before."))]


def answer_refusals(state: str, *, agreed: bool, amount: int | None, went_back: str) -> list[Refusal]:
    """Why an answer is not taken: agreement says up to which amount, a refusal what becomes of the gear."""
    found = []
    if state != State.ASKED:
        found.append(Refusal("not-asked", "Nobody waits for an answer to this."))
    if agreed and amount is None:
        found.append(Refusal("amount-missing", "Up to which amount is the customer agreed in all?", "amount"))
    if agreed and went_back:
        found.append(Refusal("went-back-unasked", "Only what is declined goes back as it is.", "went_back"))
    if not agreed and not went_back:
        said = "Say whether the gear is put back together or bagged in pieces."
        found.append(Refusal("went-back-missing", said, "went_back"))
    if not agreed and amount is not None:
        found.append(Refusal("amount-unasked", "A declined supplement has no amount.", "amount"))
    return found
