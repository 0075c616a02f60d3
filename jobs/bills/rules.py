"""What a bill holds, and whether it may be made out. Pure."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from enum import StrEnum
from typing import Any

from jobs.estimates.rules import Entry, State
from jobs.flow.rules import Leg
from shop.money.rules import Payer, Terms, apportioned, totals
from shop.workshop.rules import Refusal, priced


class Mark(StrEnum):
    """What a mark of money says."""

    DEPOSIT = "deposit"
    PAYMENT = "payment"
    REFUND = "refund"


class Way(StrEnum):
    """How it was paid."""

    CASH = "cash"
    CARD = "card"
    TRANSFER = "bank transfer"
    OTHER = "other"


DONE = (Leg.SIGNED_OFF, Leg.HANDED_BACK)


def billable(
    entries: Iterable[Entry], legs: Mapping[int, str], billed: Collection[str], payer: str
) -> list[Entry]:
    """The lines of a payer that stand, are on no bill that stands, and whose job, if they have one, is signed off."""
    return [
        each
        for each in entries
        if each.state == State.STANDS
        and each.payer == payer
        and each.key not in billed
        and (each.job is None or legs[each.job] in DONE)
    ]


def billing_refusals(
    chosen: Sequence[Entry],
    payer: str,
    *,
    rates: Collection[str],
    asked: bool,
    total: int,
    billed: int,
    agreed: int | None,
    currency: str,
) -> list[Refusal]:
    """Why no bill is made out; that of the customer is never above the go-ahead, with those that were made out before."""
    found = []
    if payer == Payer.WORKSHOP:
        found.append(Refusal("nobody-to-bill", "What the workshop pays itself is billed to nobody.", "payer"))
    if not chosen:
        said = "Nothing of this payer is signed off and not billed yet."
        found.append(Refusal("nothing-to-bill", said))
    if asked:
        found.append(Refusal("supplement-open", "A supplement waits for the customer's answer."))
    for name in dict.fromkeys(each.rate.name for each in chosen):
        if name and name not in rates:
            found.append(Refusal("no-such-rate", f"There is no rate of tax named {name} any more."))
    above = billed + total
    if payer == Payer.CUSTOMER and chosen and agreed is None:
        found.append(Refusal("no-go-ahead", "There is no go-ahead, so nothing may be charged."))
    elif payer == Payer.CUSTOMER and agreed is not None and above > agreed:
        said = (
            f"The go-ahead is up to {priced(agreed, currency)}; with this bill it would be {priced(above, currency)}. "
            "Ask for a supplement, or give a discount."
        )
        found.append(Refusal("above-go-ahead", said))
    return found


def document(
    about: Mapping[str, Any],
    chosen: Sequence[Entry],
    others: Sequence[Entry],
    done: Sequence[Mapping[str, Any]],
    terms: Terms,
) -> dict[str, Any]:
    """A bill as it is kept: its lines, what they come to by rate, what others pay, and what was done and used."""
    found = totals((each.line for each in chosen), terms)
    return {
        "format": 1,
        **about,
        "currency": terms.currency,
        "prices_include_tax": terms.inclusive,
        "rounding": terms.rounding,
        "rounding_source": terms.by_rule,
        "coin": terms.coin,
        "lines": [_line(each) for each in chosen],
        "groups": [
            {"rate": each.rate.name, "share": each.rate.share, "net": each.net, "tax": each.tax}
            for each in found.groups
        ],
        "coin_rounding": found.rounding,
        "others": [{"words": each.what, "tray": each.tray, "payer": each.payer} for each in others],
        "done": list(done),
    }


def labour_words(steps: int, minutes: int) -> str:
    """What a job took: the steps that were done, if its plan has any, and the minutes of its plan."""
    first = f"{steps} step{'' if steps == 1 else 's'} done, " if steps else ""
    return f"{first}{minutes} min by the plan"


def _line(each: Entry) -> dict[str, Any]:
    return {
        "key": each.key, "tray": each.tray, "words": each.what, "amount": each.amount, "discount": each.discount,
        "why": each.reason, "rate": each.rate.name, "share": each.rate.share,
    }  # fmt: skip


def turned(made: Mapping[str, Any]) -> dict[str, Any]:
    """The document of the counter-bill: every amount with its sign turned, nothing reckoned anew."""
    lines = [each | {"amount": -each["amount"], "discount": -each["discount"]} for each in made["lines"]]
    groups = [each | {"net": -each["net"], "tax": -each["tax"]} for each in made["groups"]]
    return {**made, "lines": lines, "groups": groups, "coin_rounding": -made["coin_rounding"]}


def payable(made: Mapping[str, Any]) -> int:
    """What a bill comes to, tax included and rounded to the smallest coin."""
    found: int = sum(each["net"] + each["tax"] for each in made["groups"]) + made["coin_rounding"]
    return found


def discounted(chosen: Sequence[Entry], discount: int, reason: str) -> list[Entry]:
    """Lines with their shares of a discount on all of them, by what each is worth, so that each rate loses its own."""
    values = [each.value for each in chosen]
    if not discount or not sum(values):
        return list(chosen)
    return [
        replace(each, discount=each.discount + share, reason="; ".join(filter(None, (each.reason, reason))))
        if share
        else each
        for each, share in zip(chosen, apportioned(discount, values), strict=True)
    ]


def counter_refusals(*, is_counter: bool, countered: bool) -> list[Refusal]:
    """A bill is countered once, and a counter-bill never: another bill is made out instead."""
    if is_counter:
        return [Refusal("is-counter-bill", "This is a counter-bill: make out a new bill instead.")]
    return [Refusal("countered-before", "This bill was countered before.")] if countered else []


def balance_words(billed: int | None, paid: int, currency: str) -> str:
    """What is due, or why nothing is, in words; nothing `billed` yet is None."""
    if billed is None:
        first = f"deposit of {priced(paid, currency)}, " if paid > 0 else ""
        return f"{first}nothing billed yet"
    if paid > billed:
        return f"nothing: paid {priced(paid - billed, currency)} more than billed"
    return priced(billed - paid, currency)


def mark_refusals(
    on: date,
    today: date,
    *,
    kind: str,
    amount: int,
    paid: int,
    billed: int | None,
    above: bool,
    currency: str,
) -> list[Refusal]:
    """Why money is not marked: a day to come, nothing, more given back than was paid, or paid than is due.

    More than is due is marked only where whoever marks it says that it is so; a deposit may come before any bill.
    """
    found = []
    if on > today:
        found.append(Refusal("day-to-come", "This day is still to come.", "on"))
    if not amount:
        found.append(Refusal("nothing-paid", "An amount is more than nothing.", "amount"))
    if kind == Mark.REFUND and amount > paid:
        found.append(Refusal("refund-too-high", "No more is given back than was paid.", "amount"))
    due = max((billed or 0) - paid, 0)
    if kind == Mark.PAYMENT and not above and amount > due:
        said = f"Only {priced(due, currency)} is due" if due else "Nothing is due"
        if billed is None:
            said = "Nothing is billed yet: mark a deposit"
        said = f"{said}. If more was really paid and not given back, say so."
        found.append(Refusal("above-due", said, "amount"))
    return found


def taking_back_refusals(*, is_back: bool, before: bool, left: int) -> list[Refusal]:
    """A mark is taken back once, and not where more was given back since than would be left."""
    if is_back:
        return [Refusal("takes-back", "This only takes another mark back: mark what was paid anew.")]
    if before:
        return [Refusal("taken-back-before", "This was taken back before.")]
    if left < 0:
        return [Refusal("refunded-since", "Some of it was given back since: take that back first.")]
    return []
