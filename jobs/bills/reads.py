"""Bills and payments of a drop-off, and what may be billed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from jobs.bills.models import Bill, Payment
from jobs.bills.rules import DONE, balance_words, billable, labour_words
from jobs.estimates.reads import Estimate, estimate
from jobs.estimates.rules import Entry, State, total
from jobs.flow.models import DropOff, Job
from jobs.flow.reads import jobs
from jobs.tray.reads import ended_parts
from jobs.worksheet.reads import done_steps
from shop.gear.models import Identifier
from shop.money.rules import Group, Payer, Rate, Totals
from shop.workshop.rules import in_unit, money, priced


def standing(drop_off: DropOff) -> list[Bill]:
    """The bills of a drop-off that were not countered."""
    return list(Bill.objects.filter(drop_off=drop_off, corrects=None, countered_by=None).order_by("pk"))


def to_bill(found: Estimate, payer: str, bills: Sequence[Bill]) -> list[Entry]:
    """The lines of a payer that are signed off and on no bill that stands."""
    billed = {key for bill in bills for key in bill.keys}
    legs = dict(Job.objects.filter(drop_off=found.drop_off).values_list("pk", "leg"))
    return billable(found.entries, legs, billed, payer)


@dataclass(frozen=True)
class Account:
    """What a drop-off costs, what was billed to its customer and paid, and what may be billed now, by payer."""

    estimate: Estimate
    bills: list[Bill]
    payments: list[Payment]
    open: dict[str, list[Entry]]
    billed_now: int | None  # to the customer; nothing yet is None

    @property
    def currency(self) -> str:
        return self.estimate.currency

    @property
    def billed(self) -> int:
        return self.billed_now or 0

    @property
    def paid(self) -> int:
        return sum(row.signed for row in self.payments)

    @property
    def due(self) -> int:
        return self.billed - self.paid

    @property
    def balance(self) -> str:
        """What is due, in words."""
        return balance_words(self.billed_now, self.paid, self.currency)

    @property
    def unbilled(self) -> int:
        """What the customer pays for work that is signed off and on no bill."""
        return total(self.open[Payer.CUSTOMER], self.estimate.terms).payable


def account(drop_off: DropOff) -> Account:
    """Everything about the money of a drop-off."""
    found = estimate(drop_off)
    bills = list(Bill.objects.filter(drop_off=drop_off).select_related("countered_by", "corrects", "by"))
    stand = standing(drop_off)
    payments = list(Payment.objects.filter(drop_off=drop_off).select_related("taken_back_by", "by"))
    payers = (Payer.CUSTOMER, Payer.PROGRAMME)
    open_ = {payer.value: to_bill(found, payer, stand) for payer in payers}
    return Account(found, bills, payments, open_, _billed(stand))


def _billed(stand: Sequence[Bill]) -> int | None:
    mine = [bill.total for bill in stand if bill.payer == Payer.CUSTOMER]
    return sum(mine) if mine else None


def billed(drop_off: DropOff) -> int | None:
    """What was billed to the customer of a drop-off and not countered, in the smallest unit; nothing yet is None."""
    return _billed(standing(drop_off))


def hand_back_panel(drop_off: DropOff) -> tuple[str, dict[str, Any]]:
    """What was billed, paid and is due as gear goes over the counter, and what is on no bill yet."""
    found = account(drop_off)
    code, left = found.currency, found.unbilled
    return "bills/hand_back_panel.html", {
        "billed": "nothing yet" if found.billed_now is None else priced(found.billed, code),
        "paid": priced(found.paid, code),
        "balance": found.balance,
        "owes": found.due > 0,
        "unbilled": priced(left, code) if left else "",
    }


def paid(drop_off: DropOff) -> int:
    """What was paid for a drop-off and not given back, in the smallest unit."""
    return sum(row.signed for row in Payment.objects.filter(drop_off=drop_off))


def done(drop_off: DropOff, chosen: Sequence[Entry]) -> list[dict[str, Any]]:
    """What was done to the gear of the lines that are billed, and what went into it."""
    keys = {each.job for each in chosen if each.job}
    rows = jobs().filter(drop_off=drop_off, pk__in=keys, leg__in=DONE).order_by("pk")
    return [_done(job) for job in rows.prefetch_related("rounds")]


def _done(job: Job) -> dict[str, Any]:
    plan, steps, parts = job.plan, done_steps(job), ended_parts(job)
    ended = [(part, parts[part.key]) for part in plan.parts if part.key in parts]
    return {
        "tray": job.number,
        "item": job.item.label,
        "model": ", ".join([job.item.title, *_serials(job)]),
        "plans": [f"{each.plan.title} v{each.n}" for each in job.plans],
        "outcome": job.outcome,
        "minutes": plan.minutes,
        "steps": sum(not row.omitted for row in steps.values()),
        "omitted": [step.title for step in plan.steps if step.key in steps and steps[step.key].omitted],
        "parts": [
            {
                "name": part.name,
                "count": in_unit(row.count, part.unit),
                "ending": row.ending,
                "origin": row.origin,
                "lot": row.movement.lot.number if row.movement else "",
                "beyond": not part.renew,
            }
            for part, row in ended
            if row.origin not in ("itself", "nothing yet")
        ],
    }


def _serials(job: Job) -> list[str]:
    """Its serials alone: an owner's mark may name somebody, and a bill names nobody."""
    return [str(mark) for mark in job.item.identifiers.all() if mark.kind == Identifier.SERIAL]


def beyond(drop_off: DropOff, chosen: Sequence[Entry]) -> list[str]:
    """What went into the gear of these lines though no plan renews it, in words: its price is nowhere by itself."""
    return [
        f"{part['count']} {part['name']} (tray {each['tray']})"
        for each in done(drop_off, chosen)
        for part in each["parts"]
        if part["beyond"]
    ]


def groups(made: Mapping[str, Any]) -> Totals:
    """What a bill comes to, by rate."""
    return Totals(
        tuple(Group(Rate(each["rate"], each["share"]), each["net"], each["tax"]) for each in made["groups"])
    )


def bills() -> QuerySet[Bill]:
    """Bills with what their pages show."""
    return Bill.objects.select_related(
        "drop_off__customer", "drop_off__payer", "corrects", "countered_by", "by"
    )


def whom(bill: Bill) -> tuple[str, str]:
    """To whom a bill is addressed, by the name that they have now, and their postal address as far as it is known."""
    payer = bill.drop_off.payer or bill.drop_off.customer
    return (payer.name, payer.postal) if bill.payer == Payer.CUSTOMER else ("the maker's programme", "")


def rounding_words(coin: int, rounding: int, code: str) -> tuple[str, str] | None:
    """What the smallest coin adds or takes off, in words and as an amount; none if it changes nothing."""
    return (f"rounded to {money(coin, code)}", money(rounding, code)) if rounding else None


def shown(bill: Bill) -> dict[str, Any]:
    """A bill as its page shows it: amounts as text."""
    made, code = bill.document, bill.currency
    found, gear = groups(made), {each["tray"]: each["item"] for each in made["done"]}
    lines = [
        {
            **each,
            "said": money(each["amount"] - each["discount"], code),
            "full": money(each["amount"], code),
            "less": money(each["discount"], code) if each["discount"] else "",
            "tax": Rate(each["rate"], each["share"]).said,
            "gear": gear.get(each["tray"], f"Tray {each['tray']}") if each["tray"] else "",
        }
        for each in made["lines"]
    ]
    rows = [
        {"tax": each.rate.said, "parts": [money(part, code) for part in (each.net, each.tax, each.gross)]}
        for each in found.groups
    ]
    ends = [money(part, code) for part in (found.net, found.tax, found.gross)]
    rounded = rounding_words(made["coin"], made["coin_rounding"], code)
    return {
        "lines": lines,
        "done": [each | {"labour": labour_words(each["steps"], each["minutes"])} for each in made["done"]],
        "groups": rows,
        "ends": ends,
        "rounding": rounded,
        "total": priced(bill.total, code),
    }


def asked_of(found: Estimate, chosen: Sequence[Entry]) -> bool:
    """Whether a supplement for gear that would be billed waits for its answer."""
    keys = {each.job for each in chosen}
    return any(each.state == State.ASKED and each.job in keys for each in found.entries)


def others_of(found: Estimate, chosen: Sequence[Entry], payer: str) -> list[Entry]:
    """What somebody else pays for the same gear; only the customer's bill names it."""
    keys = {each.job for each in chosen if each.job}
    same = [each for each in found.entries if each.job in keys and each.state == State.STANDS]
    return [each for each in same if payer == Payer.CUSTOMER and each.payer != payer]
