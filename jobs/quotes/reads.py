"""What was put to customers, as they see it and as the counter sees it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from jobs.estimates.models import LINK, Charge, GoAhead
from jobs.estimates.reads import Estimate, estimate, unanswered
from jobs.estimates.rules import State
from jobs.flow.models import DropOff
from jobs.flow.reads import held
from jobs.flow.rules import ENDED, HoldKind
from jobs.porthole.reads import View, links_of, pays
from jobs.quotes.models import Quote
from jobs.quotes.rules import Became, Waits, asks_again
from shop.customers.models import Customer
from shop.money.rules import Payer
from shop.words.rules import amount_in
from shop.workshop.reads import local_day, today
from shop.workshop.rules import priced


@dataclass(frozen=True)
class Supplement:
    """A supplement as its customer sees it, by its number among the charges of the drop-off.

    `more` is what it adds to the price, `agreed` up to which amount in all an agreement would be.
    """

    n: int
    charge: Charge
    more: int
    agreed: int
    currency: str
    language: str

    @property
    def said(self) -> str:
        return amount_in(self.language, self.more, self.currency)

    @property
    def in_all(self) -> str:
        return amount_in(self.language, self.agreed, self.currency)


@dataclass(frozen=True)
class Agreed:
    """A go-ahead that was given after the answer to a quote, as the page of a private link shows one."""

    amount: int
    currency: str
    ended_at: datetime
    became: str = Became.AGREED


def newest(drop_off: DropOff) -> Quote | None:
    """What was put to the customer last."""
    return drop_off.quotes.order_by("-n").first()


def supplements(drop_off: DropOff, found: Estimate) -> list[Supplement]:
    """What waits for the customer's answer, and what they answered by link; nothing of it where somebody else pays."""
    if not pays(drop_off):
        return []
    rows = enumerate(drop_off.charges.order_by("pk").select_related("job__item__model"), start=1)
    language = drop_off.customer.kept.language
    return [
        supplement(n, row, found, language) for n, row in rows if row.state == State.ASKED or row.how == LINK
    ]


def supplement(n: int, charge: Charge, found: Estimate, language: str = "en") -> Supplement:
    """A supplement with what it would cost now, and what an agreement would come to, as at the counter."""
    more = found.with_one(charge.uid) - found.price
    return Supplement(n, charge, more, found.in_all(charge.uid), found.currency, language)


def now_agreed(quote: Quote | None, given: GoAhead | None) -> Quote | Agreed | None:
    """What was put to the customer last; once they agreed, by link or since then, the go-ahead that holds now."""
    if quote is None or given is None or quote.became not in (Became.AGREED, Became.DECLINED):
        return quote
    if quote.became == Became.AGREED or (quote.ended_at and given.at > quote.ended_at):
        return Agreed(given.amount, given.currency, given.at)
    return quote


def nudged(drop_off: DropOff, customer: Customer, nudge_days: int | None) -> list[Charge]:
    """The supplements of a drop-off about which a letter asks its customer again now, the oldest first."""
    told = pays(drop_off), bool(customer.email and not customer.erased_at), links_of(drop_off).exists()
    return [
        row for row in unanswered().filter(drop_off=drop_off) if asks_again(_waits(row, *told), nudge_days)
    ]


def _waits(row: Charge, pays: bool, address: bool, linked: bool) -> Waits:
    job = row.job
    here = job is not None and job.leg not in ENDED
    return Waits(
        days=(today() - local_day(row.at)).days,
        here=here,
        kept=job is not None and any(each.kind == HoldKind.EVIDENCE for each in held(job)),
        pays=pays,
        address=address,
        linked=linked,
        asked_again=row.asked_again_at is not None,
    )


def lines(found: Estimate, language: str) -> Iterator[tuple[str, bool, str]]:
    """What the customer pays for, whether only if it is needed, and for how much as prices are here."""
    for each in found.entries:
        if each.payer == Payer.CUSTOMER and each.state in (State.STANDS, State.LIKELY):
            amount = amount_in(language, each.value, found.currency)
            yield each.what, each.state == State.LIKELY, amount


def porthole_panel(view: View) -> tuple[str, dict[str, Any]]:
    """What is put to the customer on the page of a private link."""
    quote, asked = newest(view.drop_off), view.drop_off.charges.filter(state=State.ASKED).exists()
    answered = view.drop_off.charges.filter(how=LINK).exists()
    if not pays(view.drop_off) or (quote is None and not asked and not answered):
        return "quotes/porthole_panel.html", {"quote": None, "supplements": []}
    found = estimate(view.drop_off)
    said = now_agreed(quote, found.go_ahead)
    return "quotes/porthole_panel.html", {
        "quote": said,
        "amount": amount_in(view.customer.language, said.amount, said.currency) if said else "",
        "stands": quote is not None and not quote.became and found.price <= quote.amount,
        "supplements": supplements(view.drop_off, found),
    }


def drop_off_panel(drop_off: DropOff) -> tuple[str, dict[str, Any]]:
    """What was put to the customer by link, and what they said."""
    quote = newest(drop_off)
    return "quotes/drop_off_panel.html", {
        "drop_off": drop_off,
        "quote": quote,
        "amount": priced(quote.amount, quote.currency) if quote else "",
        "supplements": drop_off.charges.filter(how=LINK),
    }
