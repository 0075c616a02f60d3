"""Which part of a trace is looked at next: closer, wider, earlier, later. Pure."""

from decimal import Decimal


def nearby(low: float, high: float) -> dict[str, tuple[Decimal, Decimal]]:
    """The windows beside one: half as wide about its middle, twice as wide, half a width earlier and later."""
    span, middle = high - low, (low + high) / 2
    windows = {
        "Closer": (middle - span / 4, middle + span / 4),
        "Wider": (middle - span, middle + span),
        "Earlier": (low - span / 2, high - span / 2),
        "Later": (low + span / 2, high + span / 2),
    }
    return {name: (_milli(start), _milli(end)) for name, (start, end) in windows.items()}


def _milli(number: float) -> Decimal:
    return Decimal(f"{number:.3f}")
