"""An estimate and a bill on paper; the books of a period as a file."""

from collections.abc import Collection, Mapping
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404

from jobs.bills.models import Payment
from jobs.bills.reads import bills, rounding_words, shown, whom
from jobs.books.rules import BOOKS, Cell, bill_rows
from jobs.estimates.reads import estimate
from jobs.estimates.rules import Entry, State, total
from jobs.flow.models import DropOff, Job
from shop.money.rules import Payer, Rate, Totals
from shop.paper.rules import Bold, Facts, Heading, Paper, Table, Words, day
from shop.sheets.reads import as_csv
from shop.workshop.reads import today, workshop
from shop.workshop.rules import money, priced

LINE_HEADS, LINE_MM = ("what for", "tax", "amount"), (116.0, 36.0, 30.0)
DONE_HEADS, DONE_MM = ("gear", "what was done", "parts that went in"), (42.0, 70.0, 70.0)
ESTIMATE_HEADS, ESTIMATE_MM = ("what for", "paid by", "tax", "amount"), (92.0, 38.0, 26.0, 26.0)
TOTAL_HEADS, TOTAL_MM = ("rate of tax", "net", "tax", "gross"), (92.0, 30.0, 30.0, 30.0)


def line_rows(
    found: Collection[Entry], currency: str, gear: Mapping[int, str]
) -> list[tuple[str | tuple[str, ...], ...]]:
    """Lines as they are printed: what for, who pays, the rate, the amount less its discount."""
    rows: list[tuple[str | tuple[str, ...], ...]] = []
    for each in found:
        said = [f"{gear[each.job]}: {each.what}" if each.job else each.what]
        if each.includes:
            said.append(each.includes)
        if each.state != State.STANDS:
            said.append(
                {"likely": "only likely", "asked": "waits for your answer"}.get(each.state, each.state)
            )
        if each.discount:
            less = f"{money(each.amount, currency)} less {money(each.discount, currency)}"
            said.append(f"{less}: {each.reason}")
        rows.append((tuple(said), each.payer, each.rate.said, money(each.value, currency)))
    return rows


def total_rows(found: Totals, currency: str) -> list[tuple[str, ...]]:
    """What lines come to by rate, as it is printed; the sum last."""
    rows = [
        (each.rate.said, *(money(part, currency) for part in (each.net, each.tax, each.gross)))
        for each in found.groups
    ]
    ends = [Bold(money(part, currency)) for part in (found.net, found.tax, found.gross)]
    rounded = rounding_words(found.coin, found.rounding, currency)
    if not rounded:
        return [*rows, (Bold("together"), *ends)]
    last = (Bold("to pay"), "", "", Bold(money(found.payable, currency)))
    return [*rows, (Bold("together"), *ends), (rounded[0], "", "", rounded[1]), last]


def estimate_paper(uid: UUID) -> Paper:
    """The estimate of a drop-off on paper."""
    found = estimate(get_object_or_404(DropOff.objects.select_related("customer"), uid=uid))
    code, row, house = found.currency, found.drop_off, workshop()
    shown = [each for each in found.entries if each.state != State.DECLINED]
    items = Job.objects.filter(drop_off=row).select_related("item__model")
    gear = {job.pk: f"{job.item.label}, {job.item.title}" for job in items}
    facts: list[tuple[str, str | tuple[str, ...]]] = [
        ("from", house.foot if house else ""),
        ("to", (Bold(row.customer.name), *row.customer.postal.splitlines())),
        ("drop-off", row.label),
        ("on", day(today())),
        ("prices", f"in {code}, {'with' if found.terms.inclusive else 'without'} tax"),
    ]
    mine = total([each for each in shown if each.payer == Payer.CUSTOMER], found.terms)
    likely = f"With what is only likely it would be {priced(found.with_likely, code)}."
    return Paper(
        name=f"estimate-{row.label}",
        title=f"Estimate {row.label}",
        mark=row.label,
        blocks=[
            Facts(facts),
            Table(ESTIMATE_HEADS, ESTIMATE_MM, line_rows(shown, code, gear)),
            Heading("What the customer pays"),
            Table(TOTAL_HEADS, TOTAL_MM, total_rows(mine, code)),
            *([Words(likely)] if found.with_likely != found.price else []),
            Words("More than the amount agreed to is not charged: you are asked first."),
        ],
    )


def bill_paper(uid: UUID) -> Paper:
    """A bill on paper."""
    bill = get_object_or_404(bills(), uid=uid)
    made, code, house, said = bill.document, bill.currency, workshop(), shown(bill)
    name, postal = whom(bill)
    facts: list[tuple[str, str | tuple[str, ...]]] = [
        ("from", house.foot if house else ""),
        *([("tax number", house.tax_number)] if house and house.tax_number else []),
        ("to", (Bold(name), *postal.splitlines())),
        ("on", day(bill.on)),
        ("drop-off", bill.drop_off.label),
        ("prices", f"in {code}, {'with' if made['prices_include_tax'] else 'without'} tax"),
    ]
    if bill.corrects:
        facts.append(("corrects", f"{bill.corrects.label}: {bill.reason}"))
    lines = [(_words(each), each["tax"], each["said"]) for each in said["lines"]]
    ends: list[tuple[str, ...]] = [(Bold("together"), *(Bold(part) for part in said["ends"]))]
    if said["rounding"]:
        words, amount = said["rounding"]
        ends += [(words, "", "", amount), (Bold("to pay"), "", "", Bold(money(bill.total, code)))]
    worked = [_worked(each) for each in said["done"]]
    others = [f"{each['words']}: paid by the {each['payer']}." for each in made["others"]]
    rule = f"Tax is rounded {made['rounding']}, half a unit up."
    return Paper(
        name=f"bill-{bill.number:04d}",
        title=bill.label,
        mark=bill.drop_off.label,
        blocks=[
            Facts(facts),
            Table(LINE_HEADS, LINE_MM, lines),
            Heading("What it comes to"),
            Table(TOTAL_HEADS, TOTAL_MM, [*((row["tax"], *row["parts"]) for row in said["groups"]), *ends]),
            Words((rule, *others)),
            *([Heading("What was done")] if worked else []),
            *([Table(DONE_HEADS, DONE_MM, worked)] if worked else []),
            Words(
                "It does not say that the gear is safe: the record of an item says what was done and measured."
            ),
        ],
    )


def _words(each: Mapping[str, Any]) -> tuple[str, ...]:
    first = f"{each['gear']}: {each['words']}" if each["gear"] else each["words"]
    less = (f"{each['full']} less {each['less']}: {each['why']}",) if each["less"] else ()
    return (first, *less)


def _worked(each: Mapping[str, Any]) -> tuple[str | tuple[str, ...], ...]:
    left = (f"left out: {', '.join(each['omitted'])}",) if each["omitted"] else ()
    parts = tuple(
        f"{part['count']} {part['name']}, {part['lot'] and 'lot ' + part['lot'] or part['origin']}"
        for part in each["parts"]
    )
    return (
        (each["item"], each["model"]),
        (*each["plans"], each["outcome"], each["labour"], *left),
        parts or "none",
    )


def books(first: date, last: date) -> str:
    """Bills and payments of a period as CSV, in the order of their numbers, a row for each rate of a bill."""
    rows: list[list[Cell]] = []
    for bill in bills().filter(on__range=(first, last)).order_by("number"):
        about = {
            "kind": "bill" if bill.corrects is None else "counter-bill",
            "number": str(bill.number),
            "day": bill.on.isoformat(),
            "drop_off": bill.drop_off.label,
            "customer": (bill.drop_off.payer or bill.drop_off.customer).label,
            "payer": bill.payer,
            "corrects": str(bill.corrects.number) if bill.corrects else "",
            "currency": bill.currency,
        }
        made = bill.document
        rows += bill_rows(about, made["groups"], made["coin_rounding"], lambda share: Rate("", share).percent)
    payments = Payment.objects.select_related("drop_off__customer", "drop_off__payer", "takes_back")
    for row in payments.filter(on__range=(first, last)).order_by("on", "pk"):
        who = (row.drop_off.payer or row.drop_off.customer).label
        kind = f"{row.kind} taken back" if row.takes_back else row.kind
        rows.append(
            [
                kind, "", row.on.isoformat(), row.drop_off.label, who, "customer", "", "", "", "", "",
                Decimal(money(row.signed, row.currency)), row.currency, row.way,
            ]
        )  # fmt: skip
    return as_csv([BOOKS, *rows])
