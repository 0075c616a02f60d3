"""What is worked out from typed figures, judged quantity by quantity by the limits of the plan."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from jobs.bench.methods.asked import Ask, Typed, read
from jobs.bench.methods.finding import Finding
from jobs.bench.methods.verdicts import (
    Decision,
    Instrument,
    Limit,
    Rule,
    Verdict,
    by_quantity_of,
    decide,
    overall,
)


@dataclass(frozen=True)
class Value:
    """A quantity as worked out, in its unit, with its 95 % interval; None where nothing is known of its uncertainty."""

    value: Decimal
    unit: str
    low: Decimal | None = None
    high: Decimal | None = None


@dataclass(frozen=True)
class Worked:
    """What a computation tells: its values by name, what a person should know, and what outweighs every limit.

    `doubts` are reasons why no verdict may rest on it; `condemned` is why the item is condemned whatever the limits say.
    """

    values: Mapping[str, Value]
    warnings: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    condemned: str = ""


@dataclass(frozen=True)
class Computation:
    """A method that works on typed figures. `quantities` maps what it works out to its unit.

    A limit on one of `condemning` condemns when it is not kept, which is final. `work` raises BadFigures on figures that
    cannot be meant.
    """

    name: str
    version: str
    asks: tuple[Ask, ...]
    quantities: Mapping[str, str]
    work: Callable[[Typed, Instrument | None], Worked]
    condemning: tuple[str, ...] = ()


@dataclass(frozen=True)
class Result:
    """The verdict on typed figures, with everything needed to show it and to compute it again."""

    method: str
    version: str
    verdict: Verdict | Finding
    typed: Mapping[str, str]
    values: Mapping[str, Value]
    decisions: Mapping[str, Decision]
    warnings: tuple[str, ...]
    limits: tuple[Limit, ...]
    instrument: Instrument | None


def judge(
    computation: Computation,
    given: Mapping[str, str],
    limits: Iterable[Limit] = (),
    instrument: Instrument | None = None,
) -> Result:
    """Work out what was typed and judge it by at most one limit a quantity.

    BadFigures with every reason on what cannot be read or meant; ValueError on an unknown or repeated quantity, UnitError
    on a limit of another kind. Without any limit the verdict is inconclusive.
    """
    given_limits = tuple(limits)
    worked = computation.work(read(computation.asks, given), instrument)
    limited = by_quantity_of(given_limits, computation.quantities)
    decisions = {quantity: decision_on(worked, limit) for quantity, limit in limited.items()}
    return Result(
        method=computation.name,
        version=computation.version,
        verdict=_verdict(computation, worked, decisions),
        typed=dict(given),
        values=worked.values,
        decisions=decisions,
        warnings=(*worked.doubts, *((worked.condemned,) if worked.condemned else ()), *worked.warnings),
        limits=given_limits,
        instrument=instrument,
    )


def decision_on(worked: Worked, limit: Limit) -> Decision:
    """Judge what was worked out by one limit in the quantity's own unit; a doubt leaves nothing within."""
    found = worked.values.get(limit.quantity)
    if found is None:
        return Decision(
            Verdict.INCONCLUSIVE, f"No {limit.quantity} came out of what was typed. Limit {limit}."
        )
    low, high = found.low, found.high
    if low is None or high is None:
        if limit.decision is Rule.GUARDED:
            said = f"No uncertainty is known, so {limit.quantity} cannot be held against a guarded limit."
            return Decision(Verdict.INCONCLUSIVE, f"{said} Limit {limit}.")
        low = high = found.value
    decision = decide(found.value, low, high, limit)
    if worked.doubts and decision.verdict is Verdict.WITHIN:
        return Decision(
            Verdict.INCONCLUSIVE, f"{decision.sentence} No verdict rests on it: {worked.doubts[0]}"
        )
    return decision


def _verdict(
    computation: Computation, worked: Worked, decisions: Mapping[str, Decision]
) -> Verdict | Finding:
    outside = {name for name, each in decisions.items() if each.verdict is Verdict.OUTSIDE}
    if worked.condemned or (outside & set(computation.condemning) and not worked.doubts):
        return Finding.CONDEMN
    if worked.doubts:
        return Verdict.INCONCLUSIVE
    return overall(list(decisions.values()))
