"""How far orders are, what is on its way or on drafts, and an order as a letter, a paper and a file."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, Prefetch, Q, QuerySet, Sum
from django.db.models.functions import Coalesce
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop.orders.models import DraftLine, Line, Order, Receipt
from shop.orders.rules import State, order_letter, packs_for, standing
from shop.paper.reads import drawn
from shop.paper.rules import Facts, Paper, Table, Words, day, pieces
from shop.post.actions import Attached, Draft
from shop.post.rules import Purpose
from shop.search.rules import Kind, Thing
from shop.sheets.reads import as_csv
from shop.sites.reads import wanted_at_sites
from shop.stock.models import Part
from shop.stock.reads import Wanted, wanted
from shop.stock.rules import Level
from shop.suppliers.models import Offer
from shop.suppliers.reads import Sold, sold
from shop.workshop.reads import currency, local_day, now, workshop, zone
from shop.workshop.rules import counted_in, in_unit, money, priced


@dataclass(frozen=True)
class Row:
    """A line of an order: of a draft as the supplier offers it now, of any other as it was sent. `cost` of all its packs."""

    uid: UUID
    part: Part
    number: str
    packs: int
    pack_size: int
    price: int | None
    currency: str
    came: int = 0
    receipts: tuple[Receipt, ...] = ()

    @property
    def pieces(self) -> int:
        return self.packs * self.pack_size

    @property
    def missing(self) -> int:
        return max(0, self.pieces - self.came)

    @property
    def cost(self) -> int | None:
        return None if self.price is None else self.packs * self.price

    @property
    def price_said(self) -> str:
        return priced(self.price, self.currency)

    @property
    def cost_said(self) -> str:
        return priced(self.cost, self.currency)


@dataclass(frozen=True)
class Sheet:
    """An order with its lines; `total` is of the lines with a price, the others are `unpriced`."""

    order: Order
    rows: tuple[Row, ...]
    currency: str

    @property
    def total_said(self) -> str:
        return priced(self.total, self.currency)

    @property
    def standing(self) -> str:
        ordered, missing = sum(row.pieces for row in self.rows), sum(row.missing for row in self.rows)
        units = {row.part.unit for row in self.rows if row.missing}
        return standing(self.order.state, ordered, missing, units.pop() if len(units) == 1 else "")

    @property
    def total(self) -> int:
        return sum(row.cost or 0 for row in self.rows)

    @property
    def unpriced(self) -> int:
        return sum(row.cost is None for row in self.rows)

    @property
    def version(self) -> int:
        return self.order.version


def _sent() -> QuerySet[Any]:
    """Lines that were sent, with how many pieces of each came."""
    stands = Q(receipts__movement__taken_back_by=None)
    came = Coalesce(Sum("receipts__movement__quantity", filter=stands), 0)
    return Line.objects.select_related("part").annotate(came=came)


def sheets(orders: Sequence[Order]) -> list[Sheet]:
    """Orders with their lines."""
    found: dict[int, list[Row]] = {order.pk: [] for order in orders}
    code = currency()
    for wish in DraftLine.objects.filter(order__in=found).select_related("offer__part"):
        offer = wish.offer
        row = Row(wish.uid, offer.part, offer.number, wish.packs, offer.pack_size, offer.price, code)
        found[wish.order_id].append(row)
    receipts = Receipt.objects.select_related("movement__lot", "movement__taken_back_by")
    for line in _sent().filter(order__in=found).prefetch_related(Prefetch("receipts", receipts)):
        row = Row(
            line.uid, line.part, line.number, line.packs, line.pack_size, line.price, code, line.came,
            tuple(line.receipts.all()),
        )  # fmt: skip
        found[line.order_id].append(row)
    return [Sheet(order, tuple(found[order.pk]), code) for order in orders]


def order_thing(order: Order) -> Thing:
    """An order as it is found: by its number and its supplier."""
    return Thing(
        subject=f"order:{order.uid}",
        kind=Kind.ORDER,
        number=order.label,
        title=order.supplier.name,
        address=reverse("order", args=[order.uid]),
    )


def findable_orders() -> tuple[QuerySet[Order], Callable[[Order], Thing]]:
    """Every order, for the find box."""
    return Order.objects.select_related("supplier"), order_thing


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
            coming = Coming(line.order, missing, line.order.expected_on)
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


def order_paper(uid: UUID) -> Paper:
    """An order on paper, as its supplier gets it."""
    return _paper(one_sheet(uid))


def _table(found: Sheet) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The heads and the lines of an order, as its paper and its file have them."""
    heads = (
        "part",
        "name",
        "your number",
        "packs",
        "pack size",
        "quantity",
        "unit",
        f"price of a pack, {found.currency}",
    )
    rows = [
        (
            each.part.number,
            each.part.name,
            each.number,
            *map(str, (each.packs, each.pack_size, each.pieces)),
            counted_in(each.part.unit),
            "not known" if each.price is None else money(each.price, found.currency),
        )
        for each in found.rows
    ]
    return heads, rows


def _paper(found: Sheet) -> Paper:
    order, row, (heads, rows) = found.order, workshop(), _table(found)
    when = day(local_day(order.sent_at)) if order.sent_at else "a draft, not sent yet"
    facts = [("to", order.supplier.name), ("from", row.foot if row else "—"), ("ordered on", when)]
    asked = f"{pieces(len(rows), 'line')}. Please write our order number on what you send: {order.label}."
    blocks = (Facts(facts), Table(heads, (27, 42, 27, 14, 16, 18, 14, 24), rows), Words(asked))
    return Paper(f"order-{order.number}", order.label, blocks)


def order_file(found: Sheet) -> bytes:
    """The lines of an order as CSV, each with the order's number."""
    heads, rows = _table(found)
    return as_csv([("order", *heads), *((found.order.label, *row) for row in rows)]).encode()


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
                (
                    each.packs,
                    in_unit(each.pack_size, each.part.unit),
                    each.part.number,
                    each.part.name,
                    each.number,
                )
                for each in found.rows
            ],
            row.foot if row else "",
        ),
        files=(
            Attached(f"{name}.pdf", "application/pdf", paper),
            Attached(f"{name}.csv", "text/csv", order_file(found)),
        ),
    )


@dataclass(frozen=True)
class Asked:
    """A part of which no more than its minimum is free: what is missing to its upper level, what of it is on its way or on drafts, and who sells it."""

    wanted: Wanted
    coming: list[Coming]
    drafted: int
    offers: list[Sold]

    @property
    def part(self) -> Part:
        return self.wanted.part

    @property
    def level(self) -> Level:
        return self.wanted.level

    @property
    def pieces_coming(self) -> int:
        return sum(each.pieces for each in self.coming)

    @property
    def quantity(self) -> int:
        """How many to order now."""
        return max(0, self.wanted.quantity - self.pieces_coming - self.drafted)


def _wanted(day: date) -> list[Wanted]:
    """What the workshop as a whole lacks, or what its sites lack and none of them can give, if that is more; by number."""
    found: dict[str, Wanted] = {}
    for each in [*wanted(day), *wanted_at_sites(day)]:
        known = found.get(each.part.number)
        if known is None or each.quantity > known.quantity:
            found[each.part.number] = each
    return [found[number] for number in sorted(found)]


def to_order(day: date) -> list[Asked]:
    """Every watched part of which no more than its minimum is free on a day or at a site, by number."""
    rows = _wanted(day)
    numbers = [each.part.number for each in rows]
    coming, drafted, offers = on_its_way(numbers), on_drafts(numbers), sold(part__number__in=numbers)
    return [
        Asked(
            each,
            coming.get(each.part.number, []),
            drafted.get(each.part.number, 0),
            [found for found in offers if found.offer.part == each.part],
        )
        for each in rows
    ]


def came_of(line: Line) -> int:
    """How many pieces of a line that was sent came."""
    stand = line.receipts.filter(movement__taken_back_by=None)
    return stand.aggregate(pieces=Sum("movement__quantity"))["pieces"] or 0


def proposed_packs(offer: Offer, day: date) -> int | str:
    """How many packs of an offer its draft should hold, so that the part is at its upper level; nothing where nobody lacks it."""
    asked = next((each for each in to_order(day) if each.part == offer.part), None)
    wish = offer.draft_lines.first()
    there = wish.packs if wish else 0
    lacking = asked.quantity + there * offer.pack_size if asked else 0
    return packs_for(lacking, offer.pack_size) or there or ""
