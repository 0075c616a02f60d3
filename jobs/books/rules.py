"""The books as a table. Pure."""

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import Any

from shop.workshop.rules import money

BOOKS = (
    "kind", "number", "day", "drop_off", "customer", "payer", "corrects", "rate", "rate_percent", "net", "tax", "gross",
    "currency", "way",
)  # fmt: skip


Cell = str | Decimal


def bill_rows(
    bill: Mapping[str, str], groups: Iterable[Mapping[str, Any]], percent: Callable[[int], str]
) -> list[list[Cell]]:
    """A bill in the books: a row for each rate."""
    code = bill["currency"]
    return [
        [
            bill["kind"], bill["number"], bill["day"], bill["drop_off"], bill["customer"], bill["payer"],
            bill["corrects"], each["rate"] or "no tax", percent(each["share"]),
            *(Decimal(money(amount, code)) for amount in (each["net"], each["tax"], each["net"] + each["tax"])), code, "",
        ]
        for each in groups
    ]  # fmt: skip
