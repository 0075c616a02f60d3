"""Cracking, inhalation and exhalation effort of a second stage, read at the mouthpiece, at a stated breathing rate.

The effort is typed without its sign. Several readings give their mean, and its interval from their scatter and from the
instrument. Case geometry is advice alone: water between the diaphragm's centre and the exhaust valve weighs density x g x
height (own derivation), and a cracking effort below that lets the valve flow by itself in the worst attitude.
"""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import numpy as np

from jobs.bench.methods import bounds
from jobs.bench.methods.asked import Figure, Typed
from jobs.bench.methods.repeats import mean_of
from jobs.bench.methods.spreads import value_of
from jobs.bench.methods.typed_reading import at_the_end, expanded_uncertainty
from jobs.bench.methods.verdicts import Instrument, plain
from jobs.bench.methods.worked import Computation, Worked

EFFORT = "effort"
READINGS = ("first", "second", "third")
ASKS = (
    Figure("first", "Effort", "mbar", "Without its sign, against the pressure around it."),
    Figure("second", "Effort, second time", "mbar", "Read several times, the scatter counts too.", optional=True),
    Figure("third", "Effort, third time", "mbar", optional=True),
    Figure("rate", "Breathing rate", "per_min", "None for cracking.", optional=True),
    Figure(
        "height", "Diaphragm's centre to exhaust valve", "mm", "In height, for advice on the case.", optional=True
    ),
)  # fmt: skip
MOST_MBAR = Decimal(200)
BOUNDS = {key: (Decimal(0), MOST_MBAR) for key in READINGS} | {
    "rate": (Decimal(1), Decimal(60)),
    "height": (Decimal(0), Decimal(150)),
}
SEA_WATER_KG_M3 = Decimal(1025)
GRAVITY_M_S2 = Decimal("9.80665")  # standard gravity, exact by definition (CGPM 1901)


def work(typed: Typed, instrument: Instrument | None) -> Worked:
    """The mean effort in mbar; the instrument's facts are in mbar. No interval for one reading by an unknown instrument."""
    figures = typed.figures
    bounds.check(ASKS, figures, BOUNDS)
    readings = [figures[key] for key in READINGS if key in figures]
    _, scatter = mean_of(np.array([float(each) for each in readings]))
    known = None if instrument is None else expanded_uncertainty(instrument)
    # Exact, so that a reading at its limit in another unit stays at it.
    value = value_of(Fraction(sum(readings)) / len(readings), _half(scatter, known), "mbar")
    low = None if value.low is None else max(value.low, Decimal(0))
    doubts = at_the_end(max(readings), instrument)
    return Worked({EFFORT: replace(value, low=low)}, _geometry(figures, value.value), doubts)


def _half(scatter: float | None, known: Decimal | None) -> Fraction | None:
    if scatter is None and known is None:
        return None
    return Fraction(float(np.hypot(scatter or 0.0, float(known or 0))))


def head_mbar(height_mm: Decimal) -> Decimal:
    """What sea water of that height weighs, in mbar (1 mbar is 100 Pa)."""
    return SEA_WATER_KG_M3 * GRAVITY_M_S2 * height_mm / 1000 / 100


def _geometry(figures: Mapping[str, Decimal], mean: Decimal) -> tuple[str, ...]:
    if "height" not in figures:
        return ()
    head = head_mbar(figures["height"])
    shown = plain(head.quantize(Decimal("0.01")))
    said = (
        f"{plain(figures['height'])} mm of sea water between diaphragm and exhaust valve weigh {shown} mbar: "
    )
    below = mean < head
    return (
        f"{said}this effort is {'below' if below else 'not below'} it. A valve that cracks below it flows by itself in the "
        "worst attitude. Advice on the case, no limit.",
    )


COMPUTATION = Computation("breathing effort", "1", ASKS, {EFFORT: "mbar"}, work)
