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
    bill: Mapping[str, str],
    groups: Iterable[Mapping[str, Any]],
    rounding: int,
    percent: Callable[[int], str],
) -> list[list[Cell]]:
    """A bill in the books: a row for each rate, and one for what was rounded to the smallest coin."""
    code = bill["currency"]
    about = [bill[name] for name in ("kind", "number", "day", "drop_off", "customer", "payer", "corrects")]
    last: list[Cell] = [*about, "rounding", "", "", "", Decimal(money(rounding, code)), code, ""]
    rows: list[list[Cell]] = [
        [
            *about, each["rate"] or "no tax", percent(each["share"]),
            *(Decimal(money(amount, code)) for amount in (each["net"], each["tax"], each["net"] + each["tax"])), code, "",
        ]
        for each in groups
    ]  # fmt: skip
    return [*rows, last] if rounding else rows
