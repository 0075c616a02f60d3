"""One reading typed by a person, judged by one limit that may be in another unit of the same kind."""

from dataclasses import dataclass
from decimal import ROUND_UP, Decimal, localcontext

from jobs.bench.methods.units import SIGNIFICANT_DIGITS, parse_reading
from jobs.bench.methods.verdicts import COVERAGE_FACTOR, Decision, Instrument, Limit, Rule, Verdict, decide

METHOD_NAME = "typed reading"
METHOD_VERSION = "1"
UNCERTAINTY_DIGITS = 2


@dataclass(frozen=True)
class Result:
    """The verdict on one reading, with everything needed to show it and to compute it again."""

    method: str
    version: str
    verdict: Verdict
    text: str
    unit: str
    value: Decimal
    uncertainty: Decimal | None
    decisions: dict[str, Decision]
    warnings: tuple[str, ...]
    limits: tuple[Limit, ...]
    instrument: Instrument | None


def judge(text: str, unit: str, limit: Limit, instrument: Instrument | None = None) -> Result:
    """Judge a reading as typed; the instrument's facts are in the reading's unit.

    The limit is converted to the reading's unit, so that the figures a person reads stay as typed. UnitError on a text
    that is no number or on units of different kinds. A guarded limit needs an instrument with a known step or
    uncertainty; without one the reading is inconclusive.
    """
    value = parse_reading(text)
    uncertainty = None if instrument is None else expanded_uncertainty(instrument)
    decision = judged(value, uncertainty, limit.to(unit), instrument)
    return Result(
        method=METHOD_NAME,
        version=METHOD_VERSION,
        verdict=decision.verdict,
        text=text,
        unit=unit,
        value=value,
        uncertainty=uncertainty,
        decisions={limit.quantity: decision},
        warnings=(),
        limits=(limit,),
        instrument=instrument,
    )


def standard_uncertainty(full_scale: Decimal, accuracy_percent: Decimal) -> Decimal:
    """The standard uncertainty (k = 1) of an accuracy in % of full scale, in the scale's unit.

    The error is equally likely anywhere within the bounds, whose standard deviation is half their width/sqrt(3). Source:
    JCGM 100:2008 (GUM), 4.3.7, the clause named from memory.
    """
    with localcontext(prec=SIGNIFICANT_DIGITS):
        return full_scale * accuracy_percent / 100 / Decimal(3).sqrt()


def expanded_uncertainty(instrument: Instrument) -> Decimal | None:
    """Half-width of the 95 % interval (k = 2), two digits, rounded up; None if nothing is known of the instrument.

    The true value is equally likely anywhere in a step, whose standard deviation is step/sqrt(12); calibration adds in
    squares. Source: JCGM 100:2008 (GUM), 4.3.7 and 5.1.2, named from memory.
    """
    if instrument.resolution is None and instrument.standard_uncertainty is None:
        return None
    step = instrument.resolution or Decimal(0)
    calibration = instrument.standard_uncertainty or Decimal(0)
    with localcontext(prec=SIGNIFICANT_DIGITS):
        exact = COVERAGE_FACTOR * (step * step / 12 + calibration * calibration).sqrt()
    with localcontext(prec=UNCERTAINTY_DIGITS, rounding=ROUND_UP):
        return +exact


AT_THE_END = "The reading is at the end of the instrument's range: use one that reads higher."


def at_the_end(highest: Decimal, instrument: Instrument | None) -> tuple[str, ...]:
    """Why nothing rests on a reading at the end of the instrument's range."""
    if instrument is None or instrument.range_high is None or highest < instrument.range_high:
        return ()
    return (AT_THE_END,)


def judged(
    value: Decimal, uncertainty: Decimal | None, limit: Limit, instrument: Instrument | None
) -> Decision:
    """A value against a limit in its own unit, with the half-width of its interval where one is known."""
    if uncertainty is None and limit.decision is Rule.GUARDED:
        said = "No uncertainty is known for the instrument, so its reading cannot be held against a guarded limit."
        return Decision(Verdict.INCONCLUSIVE, f"{said} Limit {limit}.")
    spread = uncertainty or Decimal(0)
    decision = decide(value, value - spread, value + spread, limit)
    if at_the_end(value, instrument) and decision.verdict is Verdict.WITHIN:
        return Decision(Verdict.INCONCLUSIVE, AT_THE_END)
    if decision.verdict is Verdict.INCONCLUSIVE:
        return Decision(decision.verdict, f"{decision.sentence} The instrument is too coarse to tell.")
    return decision
