"""Intermediate pressure of a first stage, judged from one logged purge: lock-up, time to lock up, creep.

The steps and their thresholds are the project's own derivation, with the error analysis repeated in the tests; the
statistics name their sources in `slopes.py` and `hunting.py`. A pressure that never locked up is *outside* only once the
record proves it: it was seen off its plateau later than the plan's time limit. Otherwise it is *inconclusive*, because a
short record proves nothing, and an inconclusive test cannot be signed off either.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Decimal

from jobs.bench.methods.cautions import cautions_of
from jobs.bench.methods.creep import FURTHER_MOST_S, MIN_WINDOW_SAMPLES, Creep, further_s
from jobs.bench.methods.figures import Estimate, Figures, Measured, measure
from jobs.bench.methods.settling import MIN_STEADY_S
from jobs.bench.methods.traces import Trace
from jobs.bench.methods.verdicts import (
    Decision,
    Instrument,
    Limit,
    Rule,
    Verdict,
    by_quantity_of,
    decide,
    overall,
    plain,
)

METHOD_NAME = "intermediate pressure"
METHOD_VERSION = (
    "2"  # creep is judged where no sample is missing and by what warming may hide; a drop under purge is told
)

LOCK_UP = "lock-up"
TIME_TO_LOCK_UP = "time to lock up"
CREEP = "creep"
DROP = "drop under purge"
QUANTITIES = {LOCK_UP: "bar", TIME_TO_LOCK_UP: "s", CREEP: "bar_min", DROP: "bar"}


@dataclass(frozen=True)
class Result:
    """The verdict on one trace, with everything needed to show it and to compute it again."""

    method: str
    version: str
    verdict: Verdict
    figures: Figures
    decisions: dict[str, Decision]
    warnings: tuple[str, ...]
    limits: tuple[Limit, ...]
    instrument: Instrument | None


def judge(trace: Trace, limits: Iterable[Limit] = (), instrument: Instrument | None = None) -> Result:
    """Measure a trace and judge it by at most one limit a quantity; the instrument's facts are in bar.

    A creep limit with only a high side also holds, with its sign turned, for falling pressure. A quantity without a
    limit is measured and not judged. ValueError on an unknown or repeated quantity, UnitError on a unit of another kind.
    """
    given = tuple(limits)
    by_quantity = by_quantity_of(given, QUANTITIES)
    measured = measure(trace, instrument)
    judged = {quantity: _decision(quantity, limit, measured) for quantity, limit in by_quantity.items()}
    return Result(
        method=METHOD_NAME,
        version=METHOD_VERSION,
        verdict=overall(list(judged.values())),
        figures=measured.figures,
        decisions=judged,
        warnings=cautions_of(measured.figures, _not_judged(by_quantity)),
        limits=given,
        instrument=instrument,
    )


def _not_judged(by_quantity: Mapping[str, Limit]) -> list[str]:
    """What a plan is expected to limit and does not; few makers say how far a purge may pull."""
    return [name for name in QUANTITIES if name not in by_quantity and name != DROP]


def _decision(quantity: str, limit: Limit, measured: Measured) -> Decision:
    figures = measured.figures
    if figures.ends_low:
        decision = _unknown(
            "The record ends below its plateau: log until the pressure has stood for a while, and stop before venting."
        )
    elif figures.released_s is None:
        decision = _unknown("No purge shows in this trace: start the record before the purge.")
    elif quantity == TIME_TO_LOCK_UP:
        decision = _on_time(limit, figures)
    elif figures.lock_up_bar is None:
        decision = _unknown(_did_not_lock_up(figures))
    elif quantity == DROP:
        decision = _on_drop(limit, figures.drop_under_purge_bar)
    elif quantity == LOCK_UP:
        decision = _on_pressure(limit, figures.lock_up_bar)
    else:
        decision = _on_creep(limit, measured)
    if figures.reached_range_end and decision.verdict is Verdict.WITHIN:
        return _unknown("The pressure reached the end of the instrument's range: use one that reads higher.")
    if figures.clipped_bar is not None and decision.verdict is Verdict.WITHIN:
        said = (
            f"The sensor stood still at {plain(figures.clipped_bar)} bar: clipped or stuck, it shows no more."
        )
        return _unknown(f"{said} Use one whose range goes further.")
    if figures.may_be_clipped and decision.verdict is Verdict.WITHIN:
        return _unknown(
            "The readings stand at their highest or lowest, as a clipped sensor's would: state the instrument's full scale. "
            f"Limit {limit}."
        )
    return decision


def _on_time(limit: Limit, figures: Figures) -> Decision:
    taken_s = figures.time_to_lock_up_s
    if taken_s is not None:
        if figures.gap_across_recovery:
            limit = replace(
                limit, decision=Rule.GUARDED
            )  # the value is only the longest that it can have been
        advice = f"Log more often than every {plain(figures.sample_interval_s)} s."
        return _advised(decide(taken_s.value, taken_s.low, taken_s.high, limit), advice)
    unsettled_s = figures.unsettled_s or Decimal(0)
    if limit.is_above(unsettled_s):
        said = (
            f"Still off its plateau {plain(unsettled_s)} s after the purge, which is outside: limit {limit}."
        )
        return Decision(Verdict.OUTSIDE, said)
    return _unknown(f"{_did_not_lock_up(figures)} Measure at least {MIN_STEADY_S:g} s more.")


def _on_pressure(limit: Limit, lock_up_bar: Estimate) -> Decision:
    decision = decide(lock_up_bar.value, lock_up_bar.low, lock_up_bar.high, limit)
    return _advised(decision, "More time does not help: the instrument is too coarse to tell.")


def _on_drop(limit: Limit, drop_bar: Estimate | None) -> Decision:
    if drop_bar is None:
        return _unknown(f"Too few samples show the purge: hold it for 5 s, or log more often. Limit {limit}.")
    decision = decide(drop_bar.value, drop_bar.low, drop_bar.high, limit)
    return _advised(decision, "Purge again, longer and more steadily.")


def _on_creep(limit: Limit, measured: Measured) -> Decision:
    creep, fit = measured.figures.creep_bar_min, measured.fit
    if creep is None or fit is None:
        return _unknown(_too_short(measured.figures))
    if limit.low is None and limit.high is not None:
        limit = replace(limit, low=-limit.high, low_inclusive=limit.high_inclusive)
    decision = decide(creep.value, creep.low, creep.high, limit)
    longer = _how_much_longer(creep.value, limit, fit, measured.figures.steps_are_coarse)
    guarded, slows = limit.decision is Rule.GUARDED, fit.halves.early.slope > fit.halves.late.slope
    worsens = decision.verdict is Verdict.OUTSIDE and _worsens(fit, limit)
    if fit.halves.changed and not (guarded and slows) and not worsens:
        return _unknown(
            f"The creep, {plain(creep.value)} bar/min on average, still changes: after a purge gas warms and may hide or "
            f"feign a leak. Wait, then measure again. Limit {limit}."
        )
    lasting = min(fit.halves.lasting_low(), fit.line.low)
    if guarded and (doubt := _by_warming(decision, limit, creep.value, lasting)):
        return _unknown(f"{doubt} {longer}")
    return _advised(decision, longer)


def _by_warming(decision: Decision, limit: Limit, value: Decimal, lasting: float) -> str:
    """Why a verdict may be the doing of gas that warms, which only lifts a pressure; empty if it is not."""
    low = Decimal(lasting).quantize(Decimal("0.0001"), ROUND_FLOOR)
    if decision.verdict is Verdict.WITHIN and limit.is_below(low):
        doing = "may hide a leak"
    elif decision.verdict is Verdict.OUTSIDE and limit.is_above(value) and not limit.is_above(low):
        doing = "may be what lifts it out of its limit"
    else:
        return ""
    return (
        f"The creep is {plain(value)} bar/min, but gas that still warms after the purge {doing}: what lasts may be as low "
        f"as {plain(low)} bar/min. Limit {limit}."
    )


def _worsens(fit: Creep, limit: Limit) -> bool:
    """Whether a changing creep moves away from zero and its later half alone is outside."""
    late = fit.halves.late
    if abs(late.slope) <= abs(fit.line.slope):
        return False
    return limit.is_above(Decimal(late.low)) or limit.is_below(Decimal(late.high))


def _how_much_longer(value: Decimal, limit: Limit, fit: Creep, coarse: bool) -> str:
    low, high = (None if side is None else float(side) for side in (limit.low, limit.high))
    more_s = further_s(fit, low, high)
    if more_s is not None:
        return f"Measure about {more_s} s more: that should decide it if the creep stays near {plain(value)} bar/min."
    minutes = FURTHER_MOST_S // 60
    if coarse:
        return f"Even {minutes} min more would hardly decide it: the instrument is too coarse."
    return f"Even {minutes} min more would hardly decide it: the creep is too close to its limit for this instrument."


def _too_short(figures: Figures) -> str:
    start_s = figures.window_start_s or Decimal(0)
    lacking = (MIN_WINDOW_SAMPLES - figures.samples_judged) * figures.sample_interval_s
    waiting = max(start_s - figures.end_s, Decimal(0))
    more_s = int(lacking + waiting) + 1
    return (
        f"Only {figures.samples_judged} samples follow {plain(start_s)} s, where creep may first be judged. "
        f"Measure at least {more_s} s more."
    )


def _did_not_lock_up(figures: Figures) -> str:
    recorded_s = figures.end_s - (figures.released_s or Decimal(0))
    return f"It did not lock up in the {plain(recorded_s)} s recorded after the purge."


def _unknown(sentence: str) -> Decision:
    return Decision(Verdict.INCONCLUSIVE, sentence)


def _advised(decision: Decision, advice: str) -> Decision:
    if decision.verdict is not Verdict.INCONCLUSIVE:
        return decision
    return replace(decision, sentence=f"{decision.sentence} {advice}")
