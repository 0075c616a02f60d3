"""Nine shipped traces with known truth: verdicts, estimates, window starts.

The traces were made from a formula with added disturbances; `index.json` beside them keeps the truth of each (creep in
bar/min, time constant in s, when the formula without noise enters 0.05 bar) and reference slopes computed with SciPy 1.17.1
from windows that another program chose. Truth is compared, not the other program's digits.
"""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from jobs.bench.methods.intermediate_pressure import Result, judge
from jobs.bench.methods.traces import parse_csv
from jobs.bench.methods.verdicts import Limit

TRACES = Path(__file__).parents[2] / "fixtures" / "traces"
INDEX: dict[str, Any] = json.loads((TRACES / "index.json").read_text())

# The creep limit of each row is the one its name was made for; 0.05 bar/min for all.
VERDICTS = [
    ("flat", "0.05", "within"),
    ("flat", "0.02", "within"),
    ("creep_0p02", "0.05", "within"),
    ("creep_0p02", "0.01", "outside"),
    ("creep_0p10", "0.05", "outside"),
    ("falling", "0.05", "inconclusive"),
    ("falling", "0.03", "outside"),
    ("falling", "0.07", "within"),
    ("slow_tail", "0.05", "within"),
    ("oscillating", "0.05", "within"),
    ("spikes", "0.05", "within"),
    ("correlated", "0.05", "within"),
    ("short_noisy", "0.05", "inconclusive"),
]


def judged(name: str, high: str = "0.05") -> Result:
    limit = Limit("creep", "bar_min", high=Decimal(high))
    return judge(parse_csv((TRACES / f"{name}.csv").read_bytes()), [limit])


def test_it_works() -> None:
    assert sorted(INDEX) == sorted(path.stem for path in TRACES.glob("*.csv"))
    assert {name for name, _, _ in VERDICTS} == set(INDEX)


@pytest.mark.parametrize(("name", "high", "verdict"), VERDICTS)
def test_it_gives_the_intended_verdict(name: str, high: str, verdict: str) -> None:
    assert judged(name, high).verdict == verdict


@pytest.mark.parametrize("name", INDEX)
def test_it_finds_the_true_creep_within_its_interval(name: str) -> None:
    creep = judged(name).figures.creep_bar_min
    assert creep is not None
    assert creep.low <= Decimal(str(INDEX[name]["truth"]["creep"])) <= creep.high


@pytest.mark.parametrize("name", [name for name in INDEX if name not in ("short_noisy", "oscillating")])
def test_it_is_as_sharp_as_the_goal(name: str) -> None:
    # Goal: within 0.0015 bar/min of the truth at 0.01 bar noise, 2 samples a second, more than 120 s.
    creep = judged(name).figures.creep_bar_min
    assert creep is not None
    assert abs(float(creep.value) - INDEX[name]["truth"]["creep"]) < 0.0015
    assert float(creep.high - creep.low) < 0.0066


@pytest.mark.parametrize("name", INDEX)
def test_it_locks_up_when_the_formula_does(name: str) -> None:
    figures, truth = judged(name).figures, INDEX[name]["truth"]
    assert figures.released_s == Decimal("5.00")
    assert figures.time_to_lock_up_s is not None
    assert figures.lock_up_bar is not None
    if (
        name != "short_noisy"
    ):  # Its noise makes the band 0.24 bar, so the formula's 0.05 bar is not what is timed.
        assert (
            figures.time_to_lock_up_s.low
            <= Decimal(str(truth["t_settle_0p05"])) - 5
            <= figures.time_to_lock_up_s.high
        )
    assert figures.lock_up_bar.low <= Decimal(str(truth["lock"])) <= figures.lock_up_bar.high


@pytest.mark.parametrize("name", [name for name in INDEX if name not in ("short_noisy", "slow_tail")])
def test_it_starts_the_window_ten_seconds_after_lock_up(name: str) -> None:
    figures = judged(name).figures
    assert figures.window_start_s in (Decimal("18.50"), Decimal("19.00"))
    assert figures.samples_judged in (324, 323)


def test_it_waits_twice_the_settling_time_of_the_slow_one() -> None:
    figures = judged("slow_tail").figures
    assert figures.window_start_s is not None
    # Reference windows began at 59.0 and, with lock-up seen at 23.5 s, at 60.5 s.
    assert Decimal("57.5") <= figures.window_start_s <= Decimal("60.5")


def test_it_sees_the_hunting_and_nothing_else() -> None:
    for name in INDEX:
        hunting = judged(name).figures.hunting
        assert (hunting is not None) == (name == "oscillating")
    found = judged("oscillating").figures.hunting
    assert found is not None
    assert abs(float(found.frequency_hz) - INDEX["oscillating"]["truth"]["f"]) < 0.002
    assert abs(float(found.amplitude_bar) - INDEX["oscillating"]["truth"]["A"]) < 0.002


def test_it_says_how_much_longer_the_short_one_needs() -> None:
    result = judged("short_noisy")
    # Noise alone would want 60 s; a window in which warming of 180 s shows must be longer.
    assert result.decisions["creep"].sentence.endswith(
        "Measure about 240 s more: that should decide it if the creep stays near -0.01311 bar/min."
    )
