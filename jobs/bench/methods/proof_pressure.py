"""The proof of a hose: the pressure that it was held at, as a share of its working pressure, and what was lost meanwhile.

Rules for surface-supply hoses ask for 1.5 times the working pressure (29 CFR 1910.430(c) and 46 CFR 197.456, as read); which
share a hose must bear is the plan's limit. The working pressure is the hose's mark or the maker's figure, as typed. A hose
that lost pressure may only have stretched: no limit on that was found, so it is shown, and judged where the plan has one.
"""

from decimal import Decimal
from fractions import Fraction

from jobs.bench.methods import bounds
from jobs.bench.methods.asked import BadFigures, Figure, Typed
from jobs.bench.methods.spreads import both, value_of
from jobs.bench.methods.typed_reading import at_the_end, expanded_uncertainty
from jobs.bench.methods.verdicts import Instrument
from jobs.bench.methods.worked import Computation, Worked

SHARE, LOST, HELD = "share of working pressure", "pressure lost", "time held"
QUANTITIES = {SHARE: "percent", LOST: "bar", HELD: "min"}
ASKS = (
    Figure("working", "Working pressure", "bar", "As marked on the hose, or the maker's figure."),
    Figure("reached", "Pressure reached", "bar", "Before the supply was shut."),
    Figure("left", "Pressure at the end of the hold", "bar", "Before it was let down."),
    Figure("held", "Time held", "min", "The supply shut; 90 s is read as well."),
)
BOUNDS = {
    "working": (Decimal(1), Decimal(1000)),
    "reached": (Decimal(0), Decimal(3000)),
    "left": (Decimal(0), Decimal(3000)),
    "held": (Decimal("0.1"), Decimal(1440)),
}


def work(typed: Typed, instrument: Instrument | None) -> Worked:
    """The share by the pressure at the end, which it bore all the while; the instrument's facts are in bar."""
    figures = typed.figures
    bounds.check(ASKS, figures, BOUNDS)
    if figures["left"] > figures["reached"]:
        said = "More than was reached: the supply was not shut, or the hose warmed. Prove it again."
        raise BadFigures([("left", said)])
    working, left = Fraction(figures["working"]), Fraction(figures["left"])
    known = None if instrument is None else expanded_uncertainty(instrument)
    half = None if known is None else Fraction(known)
    return Worked(
        values={
            SHARE: value_of(left * 100 / working, None if half is None else half * 100 / working),
            LOST: value_of(Fraction(figures["reached"]) - left, both(half), "bar"),
            HELD: value_of(Fraction(figures["held"]), None, "min"),
        },
        doubts=at_the_end(figures["reached"], instrument),
    )


COMPUTATION = Computation("proof pressure", "1", ASKS, QUANTITIES, work)
