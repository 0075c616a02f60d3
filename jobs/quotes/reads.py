"""What was put to customers, as they see it and as the counter sees it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from jobs.estimates.models import LINK, Charge
from jobs.estimates.reads import Estimate, estimate, unanswered
from jobs.estimates.rules import State
from jobs.flow.models import DropOff
from jobs.flow.reads import held
from jobs.flow.rules import ENDED, HoldKind
from jobs.porthole.reads import View, links_of, pays
from jobs.quotes.models import Quote
from jobs.quotes.rules import Waits, asks_again
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
    """A supplement with what it would cost now; an agreement never lowers what was agreed before."""
    total = found.with_one(charge.uid)
    before = found.go_ahead.amount if found.go_ahead else 0
    return Supplement(n, charge, total - found.price, max(total, before), found.currency, language)


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
    return "quotes/porthole_panel.html", {
        "quote": quote,
        "amount": amount_in(view.customer.language, quote.amount, quote.currency) if quote else "",
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
