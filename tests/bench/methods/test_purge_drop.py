"""How far a purge pulls the pressure down: the figure, its interval, and what it takes to tell."""

from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.intermediate_pressure import Result, judge
from jobs.bench.methods.pictures import trace_picture
from jobs.bench.methods.purge_drop import flowing_bar
from jobs.bench.methods.records import to_record, unlimited
from jobs.bench.methods.settling import find_settling
from jobs.bench.methods.traces import Trace, from_samples
from jobs.bench.methods.verdicts import Instrument, Limit, Verdict
from tests.bench.methods.purges import LIMITS, RELEASE_S, changed, purge

DROP = Limit("drop under purge", "bar", high=Decimal("4.6"))


def dropped(result: Result) -> tuple[float, float, float]:
    found = result.figures.drop_under_purge_bar
    assert found is not None
    return float(found.low), float(found.value), float(found.high)


def late(first_s: float) -> Trace:
    """The usual purge, of which only what comes after is recorded."""
    whole = purge()
    kept = whole.times_s >= first_s
    return from_samples(whole.times_s[kept], whole.pressures_bar[kept])


def test_it_works() -> None:
    """The made-up purge flows at 5 bar and locks up at 9.5: it drops 4.5 bar."""
    low, value, high = dropped(judge(purge(), LIMITS))
    assert value == pytest.approx(4.5, abs=0.02)
    assert low < 4.5 < high
    assert high - low < 0.1


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("noise_bar", [0.005, 0.05])
def test_it_holds_the_true_drop_in_its_interval(seed: int, noise_bar: float) -> None:
    low, _, high = dropped(judge(purge(seed=seed, noise_bar=noise_bar)))
    assert low <= 4.5 <= high


def test_it_is_wider_where_the_purge_was_not_steady() -> None:
    steady, shaken = purge(), changed(purge(), 3.0, 3.9, -0.6)  # two of its seven samples
    narrow, wide = dropped(judge(steady)), dropped(judge(shaken))
    assert wide[2] - wide[0] > narrow[2] - narrow[0]


def test_it_takes_the_calibration_in_twice() -> None:
    """Lock-up and purge are read by one instrument, each with its own error."""
    free = dropped(judge(purge()))
    bound = dropped(judge(purge(), (), Instrument(standard_uncertainty=Decimal("0.1"))))
    assert bound[2] - bound[0] > free[2] - free[0] + 0.6


@pytest.mark.parametrize(
    ("limit", "verdict"),
    [
        (DROP, Verdict.WITHIN),
        (Limit("drop under purge", "bar", high=Decimal("4.4")), Verdict.OUTSIDE),
        (Limit("drop under purge", "psi", high=Decimal(100)), Verdict.WITHIN),
        (Limit("drop under purge", "bar", high=Decimal("4.5")), Verdict.INCONCLUSIVE),
    ],
)
def test_it_is_judged_where_the_plan_has_a_limit(limit: Limit, verdict: Verdict) -> None:
    assert judge(purge(), [limit]).decisions["drop under purge"].verdict == verdict


def test_it_is_read_in_the_last_three_seconds_of_a_purge() -> None:
    """Seven samples of 5 bar after ten of 6 bar; their half-width by hand."""
    times_s = np.arange(0.0, 60.0, 0.5)
    trace = from_samples(times_s, np.where(times_s < 5.0, 6.0, np.where(times_s <= 8.0, 5.0, 9.5)))
    settling = find_settling(trace.times_s, trace.pressures_bar, 0.0, 0.0)
    assert settling is not None
    found = flowing_bar(trace, settling, 0.01, 0.1, 0.02)
    assert found is not None
    assert found[0] == 5.0
    assert found[1] == pytest.approx(2 * ((1.2533 * 0.01) ** 2 / 7 + 0.1**2 / 12 + 0.02**2) ** 0.5, rel=1e-9)


def test_a_purge_of_half_a_bar_is_told_too() -> None:
    times_s = np.arange(0.0, 60.0, 0.5)
    trace = from_samples(times_s, np.where(times_s <= 5.0, 9.0, 9.5))
    settling = find_settling(trace.times_s, trace.pressures_bar, 0.0, 0.0)
    assert settling is not None
    assert flowing_bar(trace, settling, 0.0, 0.0, 0.0) == (9.0, 0.0)


@pytest.mark.parametrize(("samples", "told"), [(2, False), (3, True)])
def test_it_asks_for_three_samples_of_the_purge(samples: int, told: bool) -> None:
    times_s = np.arange(0.0, 60.0, 0.5)
    trace = from_samples(times_s, np.where(times_s < samples / 2, 5.0, 9.5))
    settling = find_settling(trace.times_s, trace.pressures_bar, 0.0, 0.0)
    assert settling is not None
    assert (flowing_bar(trace, settling, 0.01, 0.0, 0.0) is not None) is told


def test_it_tells_nothing_of_a_purge_that_hardly_shows() -> None:
    found = judge(late(RELEASE_S - 0.5), [DROP])
    assert found.figures.drop_under_purge_bar is None
    assert found.figures.lock_up_bar is not None
    assert found.decisions["drop under purge"].verdict == Verdict.INCONCLUSIVE
    assert "Too few samples show the purge" in found.decisions["drop under purge"].sentence


def test_it_is_told_without_a_limit_and_drawn() -> None:
    trace = purge()
    result = judge(trace, LIMITS)
    assert result.warnings == ()
    ((name, unit, sides),) = unlimited(to_record(result))
    assert (name, unit) == ("drop under purge", "bar")
    assert float(sides[1]) < float(sides[0]) < float(sides[2])

    picture = trace_picture(trace, result, LIMITS)
    assert picture.mark.count("M") == 2
    assert any(label.text.startswith("dropped 4.") for label in picture.labels)
    assert "bar under the purge" in picture.sentence


def test_it_finds_the_drop_of_the_last_purge() -> None:
    twice = changed(purge(), 60.0, 64.0, -2.0)
    low, value, high = dropped(judge(twice))
    assert value == pytest.approx(2.0, abs=0.05)
    assert low < value < high
    assert np.isfinite(high)


def test_a_purge_whose_bottom_is_not_in_the_record_is_drawn_without_a_drop() -> None:
    trace = late(RELEASE_S - 0.5)
    result = judge(trace, LIMITS)

    picture = trace_picture(trace, result, LIMITS)

    assert result.figures.drop_under_purge_bar is None
    assert result.figures.locked_up_s is not None
    assert [label.text for label in picture.labels if "dropped" in label.text] == []
    assert "dropped" not in picture.sentence
