"""Bubbles counted under water: how many a minute, and how much gas where their size is known.

No published allowance for bubbles was found, so limits are the workshop's.
"""

from decimal import Decimal
from fractions import Fraction

from jobs.bench.methods import bounds
from jobs.bench.methods.asked import BadFigures, Figure, Typed
from jobs.bench.methods.units import decimal_of
from jobs.bench.methods.verdicts import Instrument, plain
from jobs.bench.methods.worked import Computation, Value, Worked

BUBBLE_RATE, BUBBLE_FLOW = "bubble rate", "bubble flow"
BUBBLE_ASKS = (
    Figure("bubbles", "Bubbles counted"),
    Figure("seconds", "Counted for", "s"),
    Figure("diameter", "Diameter of one bubble", "mm", "At the surface.", optional=True),
    Figure("bubble_volume", "Volume of one bubble", "ml", "At the surface.", optional=True),
)
BUBBLE_BOUNDS = {
    "bubbles": (Decimal(0), Decimal(100_000)),
    "seconds": (Decimal(1), Decimal(86_400)),
    "diameter": (Decimal("0.01"), Decimal(100)),
    "bubble_volume": (Decimal("0.000001"), Decimal(1000)),
}
PI = Fraction("3.14159265358979323846264338327950288")


def bubble_count(typed: Typed, instrument: Instrument | None) -> Worked:
    """Bubbles a minute, and millilitres a minute only where the size of a bubble was given; nothing is known of the
    uncertainty of a count."""
    figures = typed.figures
    bounds.check(BUBBLE_ASKS, figures, BUBBLE_BOUNDS)
    reasons = []
    if figures["bubbles"] % 1:
        reasons.append(("bubbles", "Bubbles counted is to be a whole number."))
    if "diameter" in figures and "bubble_volume" in figures:
        reasons.append(("bubble_volume", "Give the diameter or the volume of a bubble, not both."))
    if reasons:
        raise BadFigures(reasons)
    rate = Fraction(figures["bubbles"]) * 60 / Fraction(figures["seconds"])
    values = {BUBBLE_RATE: Value(decimal_of(rate), "per_min")}
    warnings = []
    size_ml = _bubble_ml(figures.get("diameter"), figures.get("bubble_volume"))
    if size_ml is None:
        warnings.append("The size of a bubble was not given, so no volume of gas is known.")
    else:
        values[BUBBLE_FLOW] = Value(decimal_of(rate * size_ml), "ml_min")
    if not rate:
        warnings.append(f"No bubble in {plain(figures['seconds'])} s: a slower leak would not have shown.")
    return Worked(values=values, warnings=tuple(warnings))


def _bubble_ml(diameter_mm: Decimal | None, volume_ml: Decimal | None) -> Fraction | None:
    if diameter_mm is not None:
        return PI * Fraction(diameter_mm) ** 3 / 6 / 1000
    return None if volume_ml is None else Fraction(volume_ml)


COMPUTATION = Computation(
    "bubble count", "1", BUBBLE_ASKS, {BUBBLE_RATE: "per_min", BUBBLE_FLOW: "ml_min"}, bubble_count
)
