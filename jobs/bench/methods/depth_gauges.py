"""Two depth gauges compared: in % of full scale, and which of them reads deeper.

The rules that this serves ask for a test where equivalent gauges differ by more than 2 % of full scale (29 CFR
1910.430(g)(2), as read), or allow +3.0/-0.0 fsw between them (NOAA Equipment Regulations, as read; a foot of sea water is
typed as a foot). The instrument's facts, if any, are in metres.
"""

from decimal import Decimal
from fractions import Fraction

from jobs.bench.methods import bounds
from jobs.bench.methods.asked import BadFigures, Figure, Typed
from jobs.bench.methods.spreads import both, value_of
from jobs.bench.methods.typed_reading import expanded_uncertainty
from jobs.bench.methods.verdicts import Instrument
from jobs.bench.methods.worked import Computation, Worked

DIFFERENCE, DEPTH_DIFFERENCE = "difference", "depth difference"
DEPTH_ASKS = (
    Figure("full_scale", "Full scale", "m", "200 ft is read as well."),
    Figure("first", "Reading of the master, or of the first gauge", "m"),
    Figure("second", "Reading of the gauge compared with it", "m"),
)
DEPTH_BOUNDS = {
    "full_scale": (Decimal(1), Decimal(1000)),
    "first": (Decimal(0), Decimal(1000)),
    "second": (Decimal(-10), Decimal(1000)),
}


def two_depth_gauges(typed: Typed, instrument: Instrument | None) -> Worked:
    """How far two gauges differ in % of full scale, without sign, and in metres with it: above 0 the second is deeper.

    Both readings carry the step of the instrument, where one is named.
    """
    figures = typed.figures
    bounds.check(DEPTH_ASKS, figures, DEPTH_BOUNDS)
    full_scale = Fraction(figures["full_scale"])
    beyond = [key for key in ("first", "second") if figures[key] > figures["full_scale"]]
    if beyond:
        raise BadFigures([(key, "The reading lies beyond the full scale.") for key in beyond])
    deeper = Fraction(figures["second"]) - Fraction(figures["first"])
    one_m = None if instrument is None else expanded_uncertainty(instrument)
    half_m = None if one_m is None else both(Fraction(one_m))
    half_percent = None if half_m is None else half_m * 100 / full_scale
    return Worked(
        values={
            DIFFERENCE: value_of(abs(deeper) * 100 / full_scale, half_percent),
            DEPTH_DIFFERENCE: value_of(deeper, half_m, "m"),
        }
    )


COMPUTATION = Computation(
    "two depth gauges", "1", DEPTH_ASKS, {DIFFERENCE: "percent", DEPTH_DIFFERENCE: "m"}, two_depth_gauges
)
