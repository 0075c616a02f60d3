"""How far orders are, what is on its way or on drafts, and an order as a letter, a paper and a file."""

import csv
import io
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet, Sum
from django.db.models.functions import Coalesce
from django.shortcuts import get_object_or_404

from shop.orders.models import DraftLine, Line, Offer, Order
from shop.orders.rules import State, expected, order_letter, standing
from shop.paper.reads import drawn
from shop.paper.rules import Facts, Paper, Table, Words, day, pieces
from shop.post.actions import Attached, Draft
from shop.post.rules import Purpose
from shop.sheets.rules import shielded
from shop.stock.models import Part
from shop.workshop.reads import currency, local_day, now, workshop, zone
from shop.workshop.rules import money


@dataclass(frozen=True)
class Row:
    """A line of an order: of a draft as the supplier offers it now, of any other as it was sent. `cost` of all its packs."""

    uid: UUID
    part: Part
    number: str
    packs: int
    pack_size: int
    price: int | None
    came: int = 0

    @property
    def pieces(self) -> int:
        return self.packs * self.pack_size

    @property
    def missing(self) -> int:
        return max(0, self.pieces - self.came)

    @property
    def cost(self) -> int | None:
        return None if self.price is None else self.packs * self.price


@dataclass(frozen=True)
class Sheet:
    """An order with its lines; `total` is of the lines with a price, the others are `unpriced`."""

    order: Order
    rows: tuple[Row, ...]

    @property
    def standing(self) -> str:
        ordered, missing = sum(row.pieces for row in self.rows), sum(row.missing for row in self.rows)
        return standing(self.order.state, ordered, missing)

    @property
    def total(self) -> int:
        return sum(row.cost or 0 for row in self.rows)

    @property
    def unpriced(self) -> int:
        return sum(row.cost is None for row in self.rows)

    @property
    def expected(self) -> date | None:
        """The day on which it should come; None of a draft, too."""
        return expected_of(self.order)


def expected_of(order: Order) -> date | None:
    """The day on which an order should come, as far as that is known."""
    if order.sent_at is None:
        return None
    return expected(local_day(order.sent_at), order.supplier.lead_days)


def _sent() -> QuerySet[Any]:
    """Lines that were sent, with how many pieces of each came."""
    return Line.objects.select_related("part").annotate(came=Coalesce(Sum("receipts__movement__quantity"), 0))


def sheets(orders: Sequence[Order]) -> list[Sheet]:
    """Orders with their lines."""
    found: dict[int, list[Row]] = {order.pk: [] for order in orders}
    for wish in DraftLine.objects.filter(order__in=found).select_related("offer__part"):
        offer = wish.offer
        row = Row(wish.uid, offer.part, offer.number, wish.packs, offer.pack_size, offer.price)
        found[wish.order_id].append(row)
    for line in _sent().filter(order__in=found):
        row = Row(line.uid, line.part, line.number, line.packs, line.pack_size, line.price, line.came)
        found[line.order_id].append(row)
    return [Sheet(order, tuple(found[order.pk])) for order in orders]


def sheet(order: Order) -> Sheet:
    """One order with its lines."""
    return sheets([order])[0]


def one_sheet(uid: UUID) -> Sheet:
    """The order of an address, with its lines."""
    return sheet(get_object_or_404(Order.objects.select_related("supplier"), uid=uid))


@dataclass(frozen=True)
class Coming:
    """Pieces of a part that were ordered and did not come yet; `expected` None where the lead time is not known."""

    order: Order
    pieces: int
    expected: date | None


def on_its_way(part_numbers: Collection[str]) -> dict[str, list[Coming]]:
    """What of these parts was sent for and did not come yet, the oldest order first."""
    rows = _sent().filter(part__number__in=part_numbers, order__state=State.SENT)
    found: dict[str, list[Coming]] = {}
    for line in rows.select_related("order__supplier").order_by("order__sent_at", "pk"):
        missing = line.packs * line.pack_size - line.came
        if missing > 0:
            coming = Coming(line.order, missing, expected_of(line.order))
            found.setdefault(line.part.number, []).append(coming)
    return found


def on_drafts(part_numbers: Collection[str]) -> dict[str, int]:
    """How many pieces of these parts stand on drafts, which nobody has sent yet."""
    rows = (
        DraftLine.objects.filter(offer__part__number__in=part_numbers)
        .order_by()
        .values_list("offer__part__number")
        .annotate(pieces=Sum(F("packs") * F("offer__pack_size")))
    )
    return dict(rows)


def offers_of(part_numbers: Collection[str]) -> dict[str, list[Offer]]:
    """Who sells these parts, by the supplier's name."""
    found: dict[str, list[Offer]] = {}
    rows = Offer.objects.filter(part__number__in=part_numbers).select_related("part", "supplier")
    for offer in rows.order_by("supplier__name"):
        found.setdefault(offer.part.number, []).append(offer)
    return found


def order_paper(uid: UUID) -> Paper:
    """An order on paper, as its supplier gets it."""
    return _paper(one_sheet(uid))


def _paper(found: Sheet) -> Paper:
    order, code, row = found.order, currency(), workshop()
    heads = ("part", "your number", "packs", "of", "pieces", f"a pack, {code}")
    rows = [
        (
            str(each.part),
            each.number or "—",
            str(each.packs),
            str(each.pack_size),
            str(each.pieces),
            "not known" if each.price is None else money(each.price, code),
        )
        for each in found.rows
    ]
    when = day(local_day(order.sent_at)) if order.sent_at else "a draft, not sent yet"
    facts = [("to", order.supplier.name), ("from", row.foot if row else "—"), ("ordered on", when)]
    blocks = (
        Facts(facts),
        Table(heads, (62, 32, 16, 16, 20, 34), rows),
        Words(f"{pieces(len(rows), 'line')}. Please write our order number on what you send: {order.label}."),
    )
    return Paper(f"order-{order.number}", order.label, blocks)


def order_file(found: Sheet) -> str:
    """The lines of an order as CSV."""
    code = currency()
    heads = [
        "order",
        "part",
        "name",
        "your number",
        "packs",
        "pack size",
        "pieces",
        f"price of a pack {code}",
    ]
    rows = [
        [
            found.order.number,
            shielded(each.part.number),
            shielded(each.part.name),
            shielded(each.number),
            each.packs,
            each.pack_size,
            each.pieces,
            "" if each.price is None else money(each.price, code),
        ]
        for each in found.rows
    ]
    return as_csv([heads, *rows])


def as_csv(rows: Iterable[Iterable[object]]) -> str:
    """Rows as the text of a CSV file; who makes them has shielded what people typed."""
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    return text.getvalue()


def letter_of(order: Order) -> Draft:
    """The letter that sends an order: one of each order, with the paper and the file beside it."""
    found, row = sheet(order), workshop()
    paper = drawn(_paper(found), house=row.name if row else "", zone=zone(), instant=now())
    name = f"order-{order.number}"
    return Draft(
        recipient=f"supplier:{order.supplier.uid}",
        address=order.supplier.email,
        purpose=Purpose.ORDER,
        run=order.label,
        subject=f"{order.label} of {row.name}" if row else order.label,
        text=order_letter(
            order.label,
            [
                (each.packs, each.pack_size, each.part.number, each.part.name, each.number)
                for each in found.rows
            ],
            row.foot if row else "",
        ),
        files=(
            Attached(f"{name}.pdf", "application/pdf", paper),
            Attached(f"{name}.csv", "text/csv", order_file(found).encode()),
        ),
    )
