"""Say how the workshop reckons; write rates of tax."""

from datetime import date

from django.db import transaction

from shop.journal.actions import write
from shop.money.models import TaxRate
from shop.money.reads import rates, terms
from shop.money.rules import Rate, Terms, coin_refusals, rate_refusals
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import set_terms
from shop.workshop.models import Workshop
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, refuse


def change_terms(
    *,
    by: Person,
    seen: int,
    inclusive: bool,
    rounding: str,
    by_rule: str,
    usual: str,
    nudge_days: int | None,
    coin: int | None = None,
    tax_number: str = "",
) -> Terms:
    """Say whether prices include tax, what is rounded and by what source, and the rate that lines have by themselves."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        Workshop.objects.select_for_update().first()  # no rate ends meanwhile
        refuse([*rate_refusals(usual, rates(today()), "usual"), *coin_refusals(coin)])
        given = {"prices_include_tax": inclusive, "tax_rounding": rounding, "rounding_source": by_rule}
        given |= {"tax_number": tax_number}
        set_terms(seen=seen, usual_rate=usual, nudge_days=nudge_days, smallest_coin=coin or 1, **given)
        made = terms()
        facts = {"prices include tax": inclusive, "rounding": rounding, "by rule": by_rule}
        facts |= {
            "usual rate": usual,
            "nudge days": nudge_days,
            "coin": coin or 1,
            "tax number": tax_number,
            "version": made.version,
        }
        write(subject="workshop", by=str(by.uid), verb="terms changed", facts=facts)
    return made


def set_rate(*, by: Person, name: str, share: int | None, from_day: date) -> TaxRate:
    """From a day on, a name stands for a rate of tax; without a share for none any more."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        Workshop.objects.select_for_update().first()  # the parent of the chain that is written below
        if share is None:
            present = terms().usual == name
            refuse([*_unknown(name, from_day), *([_usual(name)] if present else [])])
        row = TaxRate.objects.create(name=name, share=share, from_day=from_day, at=now(), by=by)
        facts = {"name": name, "from": from_day.isoformat()}
        facts["percent"] = "none" if share is None else Rate(name, share).percent
        write(subject="workshop", by=str(by.uid), verb="rate of tax set", facts=facts)
    return row


def _unknown(name: str, day: date) -> list[Refusal]:
    return rate_refusals(name, rates(day), "name")


def _usual(name: str) -> Refusal:
    return Refusal("usual-rate", f"{name} is the usual rate: choose another as the usual one first.", "name")
