"""The apparatus of a volumetric expansion test: whether it may serve, and when a test may be repeated because of it.

Sources are interpretation letters of the United States' pipeline and hazardous materials agency where a letter is named.
"From memory" marks what was not confirmed in print. Figures are typed, in psi, mL and %, by their keys in `ASKS`.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal

from jobs.bench.methods.asked import Choice, Figure
from jobs.bench.methods.verdicts import plain

# Letters 13-0131, 14-0144 and 15-0055: the gauge itself, in % of its full range. 13-0131: in use, in % of test pressure.
GAUGE_PERCENT = Decimal("0.5")
IN_USE_PERCENT = Decimal("1.0")
# From memory: the apparatus must show the calibrated cylinder's pressure and expansion within so many %.
CALIBRATED_PERCENT = Decimal(1)
# Letter 25-0004: up to and including this it is a check of the system, above it is a test.
CHECK_PERCENT = Decimal(90)
# From memory: a test repeated after a fault of the apparatus is raised by the lesser of the two.
RAISED_PERCENT = Decimal(10)
RAISED_PSI = Decimal(100)
# What was typed in another unit than psi carries the rounding of its conversion, in the 28th digit.
ROUNDING = Decimal("1e-20")

# What can fail, in the project's own words; the rule only speaks of failure of the apparatus.
FAULTS = ("pressure not held", "pressure gauge", "expansion device", "connection or seal", "other")

GAUGE = ("gauge_full_scale", "gauge_accuracy")
CERTIFIED = ("calibrated_pressure", "calibrated_expansion")
CALIBRATED = (*CERTIFIED, "calibrated_pressure_read", "calibrated_expansion_read", "calibrated_permanent")
POSITIVE = (*GAUGE, *CERTIFIED, "earlier_pressure")

_BEFORE = "In a check of the system, or in a test that the apparatus spoilt."
_WHAT = "What failed. Never to rescue a cylinder."

ASKS = (
    Figure("gauge_full_scale", "Gauge: full scale", "psi", optional=True),
    Figure("gauge_accuracy", "Gauge: accuracy", "percent", "In % of full scale.", optional=True),
    Figure("calibrated_pressure", "Calibrated cylinder: certified pressure", "psi", optional=True),
    Figure("calibrated_expansion", "Calibrated cylinder: certified expansion", "ml", optional=True),
    Figure("calibrated_pressure_read", "Calibrated cylinder: pressure read", "psi", optional=True),
    Figure("calibrated_expansion_read", "Calibrated cylinder: expansion read", "ml", optional=True),
    Figure("calibrated_permanent", "Calibrated cylinder: left after release", "ml", optional=True),
    Figure("earlier_pressure", "Highest pressure before this test", "psi", _BEFORE, optional=True),
    Choice("fault", "Repeated after a fault of the apparatus", FAULTS, _WHAT, optional=True),
)
LABELS = {ask.key: ask.label for ask in ASKS}


def gauge_error_psi(full_scale_psi: Decimal, accuracy_percent: Decimal) -> Decimal:
    """How far a gauge may be off anywhere on its scale, either way."""
    return full_scale_psi * accuracy_percent / 100


def error_psi(figures: Mapping[str, Decimal]) -> Decimal | None:
    """The same from what was typed; None if it says nothing of the gauge."""
    if "gauge_full_scale" not in figures:
        return None
    return gauge_error_psi(*(figures[key] for key in GAUGE))


def smallest_test_psi(full_scale_psi: Decimal, accuracy_percent: Decimal) -> Decimal:
    """The smallest test pressure of which the gauge's error is at most 1 % (letter 13-0131)."""
    return full_scale_psi * accuracy_percent / IN_USE_PERCENT


def is_system_check(pressure_psi: Decimal, required_psi: Decimal) -> bool:
    """Whether a pressure before the test is a check of the system still, and no test of the cylinder."""
    return not _more(pressure_psi * 100, CHECK_PERCENT * required_psi)


def repeat_psi(required_psi: Decimal) -> Decimal:
    """The pressure of a test repeated after a fault of the apparatus (from memory)."""
    return min(required_psi * (100 + RAISED_PERCENT) / 100, required_psi + RAISED_PSI)


def incomplete(figures: Mapping[str, Decimal], fault: str) -> Iterator[tuple[str, str]]:
    """What is missing of figures that tell something only together: pairs of key and sentence."""
    for together in (GAUGE, CALIBRATED):
        missing = [key for key in together if key not in figures]
        if len(missing) < len(together):
            yield from ((key, f"{LABELS[key]} is missing.") for key in missing)
    if fault and "earlier_pressure" not in figures:
        yield "earlier_pressure", "Say how high the pressure went in the test that the apparatus spoilt."


def warnings(figures: Mapping[str, Decimal], fault: str) -> Iterator[str]:
    """What the record should say of the apparatus."""
    if fault:
        yield f"Repeated after a fault of the apparatus: {fault}. That is done once, and never to rescue a cylinder."
    if "gauge_full_scale" not in figures:
        yield "The gauge's accuracy was not given: whether it may serve at this pressure is not known."
    if "calibrated_pressure" not in figures:
        yield "No check against the calibrated cylinder was given."


def doubts(figures: Mapping[str, Decimal], fault: str) -> Iterator[str]:
    """Why no verdict may rest on this test."""
    yield from _doubts_of_pressure(figures, fault)
    yield from _doubts_of_gauge(figures)
    yield from _doubts_of_calibration(figures)


def _doubts_of_pressure(figures: Mapping[str, Decimal], fault: str) -> Iterator[str]:
    required, pressure = figures["required_pressure"], figures["pressure"]
    earlier = figures.get("earlier_pressure", Decimal(0))
    if _more(required, pressure):
        yield f"The test pressure of {plain(required)} psi was not reached."
    if is_system_check(earlier, required):
        return
    # The project's own caution: a repeat below what the metal has seen already would show too little.
    least = max(repeat_psi(required), earlier)
    if not fault:
        yield (
            f"{plain(earlier)} psi before the test is more than {CHECK_PERCENT} % of the test pressure and counts as a "
            "test: only a fault of the apparatus lets it be repeated."
        )
    elif _more(least, pressure):
        yield f"Repeated after {plain(earlier)} psi, the test needs {plain(least)} psi."


def _doubts_of_gauge(figures: Mapping[str, Decimal]) -> Iterator[str]:
    if "gauge_full_scale" not in figures:
        return
    full_scale, accuracy = (figures[key] for key in GAUGE)
    smallest = smallest_test_psi(full_scale, accuracy)
    if accuracy > GAUGE_PERCENT:
        yield f"A gauge of {plain(accuracy)} % of full scale may not serve: {GAUGE_PERCENT} % is the most."
    if _more(smallest, figures["required_pressure"]):
        yield f"The gauge may not serve below {plain(smallest)} psi."
    if figures["pressure"] >= full_scale:
        yield "The pressure reached the end of the gauge's scale."


def _doubts_of_calibration(figures: Mapping[str, Decimal]) -> Iterator[str]:
    """The calibrated cylinder has no tolerance for what it keeps (letter 07-0077)."""
    if "calibrated_pressure" not in figures:
        return
    pressure, expansion, pressure_read, expansion_read, permanent = (figures[key] for key in CALIBRATED)
    pairs = (("pressure", pressure, pressure_read), ("expansion", expansion, expansion_read))
    for name, certified, found in pairs:
        if _more(abs(found - certified) * 100, CALIBRATED_PERCENT * certified):
            yield f"The calibrated cylinder's {name} was read more than {CALIBRATED_PERCENT} % off."
    if permanent != 0:
        yield "The calibrated cylinder did not return to zero."


def _more(found: Decimal, most: Decimal) -> bool:
    """Whether a figure above 0 is more than another, and not only by the rounding of its unit."""
    return found > most + most * ROUNDING
