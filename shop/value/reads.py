"""Every lot that was on hand on a day, and what it cost."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Sum

from shop.sheets.reads import as_csv
from shop.stock.models import Lot, Movement
from shop.stock.rules import Verb, value_left
from shop.workshop.reads import currency
from shop.workshop.rules import money, priced


@dataclass(frozen=True)
class Row:
    """What was on hand of a lot on a day; `cost` of all of it in the smallest unit, None where it is not known."""

    lot: Lot
    on_hand: int
    cost: int | None
    cost_said: str


@dataclass(frozen=True)
class Worth:
    """The list of a day; what has no known cost is counted apart."""

    day: date
    currency: str
    rows: list[Row]

    @property
    def total(self) -> int:
        return sum(row.cost or 0 for row in self.rows)

    @property
    def total_said(self) -> str:
        return priced(self.total, self.currency)

    @property
    def known(self) -> int:
        """Lots whose cost is known; pieces and grams have no sum."""
        return sum(row.cost is not None for row in self.rows)

    @property
    def unknown(self) -> int:
        return sum(row.cost is None for row in self.rows)


def worth(day: date) -> Worth:
    """Every lot with something on hand on a day, by part and number, by the movements that count from that day or earlier."""
    moved = Movement.objects.filter(effective_on__lte=day)
    left = dict(moved.order_by().values_list("lot").annotate(pieces=Sum("quantity")).filter(pieces__gt=0))
    receipts: dict[int, list[tuple[int, int | None]]] = {}
    for key, quantity, cost in (
        moved.filter(verb=Verb.RECEIVE)
        .exclude(taken_back_by__in=moved)
        .values_list("lot", "quantity", "cost")
    ):
        receipts.setdefault(key, []).append((quantity, cost))
    lots = Lot.objects.select_related("part").order_by("part__number", "number", "pk")
    code, rows = currency(), []
    for lot in lots:
        if on_hand := left.get(lot.pk):
            cost = value_left(receipts.get(lot.pk, []), on_hand)
            rows.append(Row(lot, on_hand, cost, priced(cost, code)))
    return Worth(day, code, rows)


def stock_file(day: date) -> str:
    """The list of a day as CSV: a lot a line, at its end what has a cost and what has none."""
    found = worth(day)
    heads = ["day", "part", "name", "lot", "good to", "on hand", "unit", f"cost {found.currency}"]
    rows: list[list[str | int]] = [
        [
            day.isoformat(),
            row.lot.part.number,
            row.lot.part.name,
            row.lot.number,
            row.lot.good_to.isoformat() if row.lot.good_to else "no last day",
            row.on_hand,
            row.lot.part.unit,
            "not known" if row.cost is None else money(row.cost, found.currency),
        ]
        for row in found.rows
    ]
    ends: list[list[str | int]] = [
        [
            day.isoformat(),
            "all with a known cost",
            "",
            "",
            "",
            found.known,
            "lots",
            money(found.total, found.currency),
        ],
        [day.isoformat(), "all without", "", "", "", found.unknown, "lots", "not known"],
    ]
    return as_csv([heads, *rows, *ends])
