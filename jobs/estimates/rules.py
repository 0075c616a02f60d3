"""Whether a go-ahead covers a price. Pure."""

from shop.workshop.rules import Refusal, money


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
