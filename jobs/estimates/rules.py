"""Amounts of money as text and as whole smallest units; whether a go-ahead covers a price. Pure."""

from decimal import Decimal

from shop.workshop.rules import Refusal

# ISO 4217 minor units that are not 2, from memory.
_DIGITS = {"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "KWD": 3, "BHD": 3, "OMR": 3, "JOD": 3, "TND": 3}


def digits(currency: str) -> int:
    """How many decimals the currency has."""
    return _DIGITS.get(currency, 2)


def money(amount: int, currency: str) -> str:
    """An amount in the smallest unit as decimal text: 18000 EUR is 180.00."""
    places = digits(currency)
    return f"{Decimal(amount).scaleb(-places):.{places}f}"


def smallest(text: Decimal, currency: str) -> int | None:
    """A decimal amount in the smallest unit, or None when it has more decimals than the currency."""
    value = text.scaleb(digits(currency))
    return int(value) if value == value.to_integral_value() else None


def covering_refusals(amount: int | None, price: int, currency: str) -> list[Refusal]:
    """Work begins when the go-ahead covers the price of everything in the drop-off."""
    if amount is None:
        return [
            Refusal(
                "no-go-ahead",
                f"There is no go-ahead yet; the plans come to {money(price, currency)} {currency}.",
            )
        ]
    if amount < price:
        said = f"The go-ahead is up to {money(amount, currency)} {currency}; the plans come to {money(price, currency)}."
        return [Refusal("go-ahead-too-low", said)]
    return []
