from collections.abc import Callable
from decimal import Decimal

import pytest

from jobs.bench.methods.asked import Figure, Typed
from jobs.bench.methods.finding import Finding
from jobs.bench.methods.units import UnitError
from jobs.bench.methods.verdicts import Instrument, Limit, Rule, Verdict
from jobs.bench.methods.worked import Computation, Value, Worked, decision_on, judge

Extra = Callable[[Decimal], dict[str, object]]


def computation(condemning: tuple[str, ...] = (), **more: object) -> Computation:
    def work(typed: Typed, instrument: Instrument | None) -> Worked:
        found = typed.figures["drop"]
        spread = instrument.resolution if instrument else None
        sides = {"low": found - spread, "high": found + spread} if spread is not None else {}
        return Worked(values={"drop": Value(found, "bar", **sides)}, **more)  # type: ignore[arg-type]  # parts of a table

    asks = (Figure("drop", "Drop", "bar"),)
    return Computation("drop", "1", asks, {"drop": "bar", "time": "s"}, work, condemning)


def at_most(high: str, decision: Rule = Rule.GUARDED, quantity: str = "drop") -> Limit:
    return Limit(quantity, "bar", high=Decimal(high), decision=decision)


STEP = Instrument(resolution=Decimal("0.1"))


@pytest.mark.parametrize(
    ("high", "verdict"),
    [("1.2", Verdict.WITHIN), ("1.1", Verdict.WITHIN), ("1.05", Verdict.INCONCLUSIVE), ("0.8", Verdict.OUTSIDE)],
)  # fmt: skip
def test_it_works(high: str, verdict: Verdict) -> None:
    result = judge(computation(), {"drop": "1"}, [at_most(high)], STEP)
    assert result.verdict == result.decisions["drop"].verdict == verdict
    assert result.values["drop"].low == Decimal("0.9")


def test_it_holds_nothing_against_a_guarded_limit_without_an_uncertainty() -> None:
    result = judge(computation(), {"drop": "1"}, [at_most("2")])
    assert result.verdict == Verdict.INCONCLUSIVE
    assert result.decisions["drop"].sentence.startswith("No uncertainty is known")


def test_it_judges_the_value_alone_where_the_limit_says_so() -> None:
    assert judge(computation(), {"drop": "1"}, [at_most("1", Rule.SIMPLE)]).verdict == Verdict.WITHIN


@pytest.mark.parametrize("high", ["2", "0.5"])
def test_it_rests_no_verdict_on_a_doubt(high: str) -> None:
    result = judge(computation(doubts=("The gauge was not checked.",)), {"drop": "1"}, [at_most(high)], STEP)
    assert result.verdict == Verdict.INCONCLUSIVE
    assert result.warnings == ("The gauge was not checked.",)


def test_it_condemns_by_a_limit_that_condemns() -> None:
    assert judge(computation(("drop",)), {"drop": "1"}, [at_most("0.5")], STEP).verdict == Finding.CONDEMN


def test_it_does_not_condemn_on_a_doubt() -> None:
    doubtful = computation(("drop",), doubts=("The gauge was not checked.",))
    assert judge(doubtful, {"drop": "1"}, [at_most("0.5")], STEP).verdict == Verdict.INCONCLUSIVE


def test_it_condemns_whatever_the_limits_say() -> None:
    result = judge(computation(condemned="A crack."), {"drop": "1"}, [at_most("2")], STEP)
    assert (result.verdict, result.warnings) == (Finding.CONDEMN, ("A crack.",))


def test_it_decides_nothing_without_a_limit_or_a_value() -> None:
    assert judge(computation(), {"drop": "1"}).verdict == Verdict.INCONCLUSIVE
    limit = Limit("time", "s", high=Decimal(1))
    result = judge(computation(), {"drop": "1"}, [limit])
    assert result.decisions["time"].sentence == "No time came out of what was typed. Limit at most 1 s."


def test_it_refuses_limits_that_it_cannot_hold_against_anything() -> None:
    with pytest.raises(ValueError, match="it has no 'creep'"):
        judge(computation(), {"drop": "1"}, [at_most("1", quantity="creep")])
    with pytest.raises(ValueError, match="two limits for drop"):
        judge(computation(), {"drop": "1"}, [at_most("1"), at_most("2")])
    with pytest.raises(UnitError):
        judge(computation(), {"drop": "1"}, [Limit("drop", "s", high=Decimal(1))])


@pytest.mark.parametrize(("high", "verdict"), [("2", Verdict.INCONCLUSIVE), ("0.5", Verdict.OUTSIDE)])
def test_a_doubt_takes_away_only_what_is_within(high: str, verdict: Verdict) -> None:
    doubtful = computation(doubts=("The gauge was not checked.", "It was dark."))
    decision = judge(doubtful, {"drop": "1"}, [at_most(high)], STEP).decisions["drop"]
    assert decision.verdict == verdict
    assert decision.sentence.endswith("No verdict rests on it: The gauge was not checked.") is (high == "2")


@pytest.mark.parametrize("sides", [(None, Decimal(1)), (Decimal(1), None)])
def test_half_an_interval_is_none(sides: tuple[Decimal | None, Decimal | None]) -> None:
    worked = Worked({"drop": Value(Decimal(1), "bar", *sides)})
    assert decision_on(worked, at_most("2")).verdict == Verdict.INCONCLUSIVE
    assert decision_on(worked, at_most("1", Rule.SIMPLE)).verdict == Verdict.WITHIN
