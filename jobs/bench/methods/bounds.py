"""Whether typed figures can be meant: each between the least and the most that a bench may see."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from jobs.bench.methods.asked import Ask, BadFigures, Figure
from jobs.bench.methods.units import symbol
from jobs.bench.methods.verdicts import plain

Bounds = Mapping[str, tuple[Decimal, Decimal]]


def check(asks: Sequence[Ask], figures: Mapping[str, Decimal], bounds: Bounds) -> None:
    """BadFigures with every figure that lies outside its bounds, both of which are allowed; in the unit of its ask."""
    reasons = []
    for ask in asks:
        if not isinstance(ask, Figure) or ask.key not in bounds or ask.key not in figures:
            continue
        low, high = bounds[ask.key]
        if not low <= figures[ask.key] <= high:
            printed = f" {symbol(ask.unit)}" if ask.unit else ""
            reasons.append((ask.key, f"{ask.label} is to be {plain(low)} to {plain(high)}{printed}."))
    if reasons:
        raise BadFigures(reasons)
