"""Volumetric expansion of a cylinder in a water jacket: what it gave under pressure, and what it kept.

Elastic is total less permanent expansion (49 CFR 180.203; MIL-STD-1411B 5.3.1.1); the permanent share is permanent x 100
/ total. What share condemns, and whether it must not *exceed* the figure or must be *less than* it, is the plan's limit.
No tolerance of the apparatus widens that limit (interpretation letter 07-0002), so the share has no interval and its limit
is to be one that the value alone decides. An apparatus that fails a check, or a pressure that was not what it had to be, is
a doubt.
"""

from collections.abc import Iterator, Mapping
from decimal import ROUND_05UP, ROUND_UP, Decimal, localcontext
from fractions import Fraction

from jobs.bench.methods import expansion_apparatus as apparatus
from jobs.bench.methods.asked import BadFigures, Figure, Typed
from jobs.bench.methods.typed_reading import UNCERTAINTY_DIGITS, expanded_uncertainty
from jobs.bench.methods.units import SIGNIFICANT_DIGITS
from jobs.bench.methods.verdicts import Instrument, plain
from jobs.bench.methods.worked import Computation, Value, Worked

ELASTIC = "elastic expansion"
PERMANENT = "permanent expansion"
SHARE = "permanent share"
PRESSURE = "test pressure"
QUANTITIES = {ELASTIC: "ml", PERMANENT: "ml", SHARE: "percent", PRESSURE: "psi"}

_MARKED = "As marked on the cylinder."

ASKS = (
    Figure("required_pressure", "Test pressure asked for", "psi", "As marked, or by the specification."),
    Figure("pressure", "Test pressure reached", "psi", "As the gauge showed it."),
    Figure("total", "Total expansion", "ml", "At test pressure, once it no longer grows."),
    Figure("permanent", "Permanent expansion", "ml", "After release."),
    Figure("rejection_elastic", "Rejection elastic expansion", "ml", _MARKED, optional=True),
    *apparatus.ASKS,
)
LABELS = {ask.key: ask.label for ask in ASKS}
POSITIVE = ("required_pressure", "pressure", "total", "rejection_elastic", *apparatus.POSITIVE)


def permanent_share(permanent_ml: Decimal, total_ml: Decimal) -> Decimal:
    """Permanent x 100 / total in %, to 28 digits; ZeroDivisionError if total is 0.

    The last digit tells of what was cut off, so that the share compares with any shorter limit as permanent x 100 does
    with limit x total. Binary floats would make 10.000000000000002 % of 1.12 in 11.2.
    """
    exact = Fraction(permanent_ml) * 100 / Fraction(total_ml)
    with localcontext(prec=SIGNIFICANT_DIGITS, rounding=ROUND_05UP):
        return Decimal(exact.numerator) / Decimal(exact.denominator)


def work(typed: Typed, instrument: Instrument | None) -> Worked:
    """Work out one test; the instrument is the expansion device, its facts in mL. BadFigures on what cannot be."""
    figures, fault = typed.figures, typed.choices.get("fault", "")
    reasons = [*_impossible(figures), *apparatus.incomplete(figures, fault)]
    if reasons:
        raise BadFigures(reasons)
    return Worked(
        values=_values(figures, instrument),
        warnings=(*_over_rejection(figures), *apparatus.warnings(figures, fault)),
        doubts=(*apparatus.doubts(figures, fault), *_beyond_range(figures, instrument)),
    )


def _impossible(figures: Mapping[str, Decimal]) -> Iterator[tuple[str, str]]:
    """Figures that no cylinder gives, only an apparatus at fault or a slip of the pen (after letter 12-0176)."""
    for key in POSITIVE:
        if key in figures and figures[key] <= 0:
            yield key, f"{LABELS[key]} must be more than 0: the apparatus or the figure is at fault."
    if figures["permanent"] < 0:
        yield "permanent", "Permanent expansion cannot be below 0: the apparatus or the figure is at fault."
    if figures["permanent"] > figures["total"]:
        yield (
            "permanent",
            "Permanent expansion cannot be above the total: the apparatus or the figure is at fault.",
        )


def _values(figures: Mapping[str, Decimal], instrument: Instrument | None) -> dict[str, Value]:
    total, permanent, pressure = figures["total"], figures["permanent"], figures["pressure"]
    half = None if instrument is None else expanded_uncertainty(instrument)
    gauge = apparatus.error_psi(figures)
    return {
        ELASTIC: _about(total - permanent, "ml", None if half is None else _of_difference(half)),
        PERMANENT: _about(permanent, "ml", half),
        SHARE: Value(permanent_share(permanent, total), "percent"),
        PRESSURE: _about(pressure, "psi", gauge),
    }


def _about(value: Decimal, unit: str, half: Decimal | None) -> Value:
    return Value(value, unit) if half is None else Value(value, unit, value - half, value + half)


def _of_difference(half: Decimal) -> Decimal:
    """Half-width for a difference of two readings, taken as independent; two digits, rounded up."""
    with localcontext(prec=SIGNIFICANT_DIGITS):
        exact = half * Decimal(2).sqrt()
    with localcontext(prec=UNCERTAINTY_DIGITS, rounding=ROUND_UP):
        return +exact


def _over_rejection(figures: Mapping[str, Decimal]) -> Iterator[str]:
    """Beyond its rejection elastic expansion a cylinder loses its plus mark, no more (after letter 13-0042)."""
    elastic, most = figures["total"] - figures["permanent"], figures.get("rejection_elastic")
    if most is not None and elastic > most:
        yield f"Elastic expansion {plain(elastic)} mL is above the marked {plain(most)} mL: no plus mark."


def _beyond_range(figures: Mapping[str, Decimal], instrument: Instrument | None) -> Iterator[str]:
    if instrument and instrument.range_high is not None and figures["total"] >= instrument.range_high:
        yield "The expansion reached the end of the expansion device's range."


COMPUTATION = Computation(
    name="volumetric expansion",
    version="1",
    asks=ASKS,
    quantities=QUANTITIES,
    work=work,
    condemning=(SHARE,),
)
