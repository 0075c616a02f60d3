"""Breathing loop of a demand regulator on a breathing machine: work of breathing, its parts, and peak pressures.

The formula and its closed forms are in `work.py`, the interval in `loop_values.py`. The limits judged here are the service
plan's. Published ones stand beside with their scope (`published_limits.py`) and decide nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from jobs.bench.methods.loop_cautions import cautions_of, doubts_of
from jobs.bench.methods.loop_figures import Figures, measure
from jobs.bench.methods.loop_values import MINUTE_VOLUME, QUANTITIES
from jobs.bench.methods.loops import Loop
from jobs.bench.methods.verdicts import Decision, Instrument, Limit, Verdict, by_quantity_of, overall
from jobs.bench.methods.worked import Worked, decision_on

METHOD_NAME = "breathing loop"
METHOD_VERSION = "1"

__all__ = ["METHOD_NAME", "METHOD_VERSION", "QUANTITIES", "Result", "judge"]


@dataclass(frozen=True)
class Result:
    """The verdict on one loop, with everything needed to show it and to compute it again."""

    method: str
    version: str
    verdict: Verdict
    figures: Figures
    decisions: dict[str, Decision]
    warnings: tuple[str, ...]
    limits: tuple[Limit, ...]
    instrument: Instrument | None


def judge(loop: Loop, limits: Iterable[Limit] = (), instrument: Instrument | None = None) -> Result:
    """Measure a loop and judge it by at most one limit a quantity; the pressure instrument's facts are in mbar.

    A quantity without a limit is measured and not judged. ValueError on an unknown or repeated quantity, UnitError on a
    unit of another kind.
    """
    given = tuple(limits)
    by_quantity = by_quantity_of(given, QUANTITIES)
    figures = measure(loop, instrument)
    doubts = doubts_of(figures)
    worked = Worked(values=figures.values, doubts=doubts)
    decisions = {quantity: _decision(worked, limit, figures) for quantity, limit in by_quantity.items()}
    not_judged = [name for name in figures.values if name not in by_quantity]
    return Result(
        method=METHOD_NAME,
        version=METHOD_VERSION,
        verdict=Verdict.INCONCLUSIVE if doubts else overall(list(decisions.values())),
        figures=figures,
        decisions=decisions,
        warnings=(
            *doubts,
            *_single_breaths(decisions, by_quantity, figures),
            *cautions_of(figures, not_judged),
        ),
        limits=given,
        instrument=instrument,
    )


def _decision(worked: Worked, limit: Limit, figures: Figures) -> Decision:
    if limit.quantity not in worked.values:
        said = f"A record without times has no {limit.quantity}. Limit {limit}."
        return Decision(Verdict.INCONCLUSIVE, said)
    decision = decision_on(worked, limit)
    if decision.verdict is not Verdict.INCONCLUSIVE or worked.doubts:
        return decision
    return replace(decision, sentence=f"{decision.sentence} {_advice(limit.quantity, figures)}")


def _advice(quantity: str, figures: Figures) -> str:
    if figures.breaths == 1 and (quantity == MINUTE_VOLUME or not figures.instrument_known):
        return "Record several breaths: their scatter gives an interval."
    return "More breaths narrow the interval as far as the instrument allows."


def _single_breaths(decisions: dict[str, Decision], limits: dict[str, Limit], figures: Figures) -> list[str]:
    """The mean may be within a limit that single breaths are not."""
    found = []
    for quantity, decision in decisions.items():
        over = sum(not limits[quantity].allows(each) for each in figures.singly.get(quantity, ()))
        if over and decision.verdict is Verdict.WITHIN:
            found.append(
                f"The mean {quantity} is within its limit, but {over} of {figures.breaths} breaths alone are not."
            )
    return found
