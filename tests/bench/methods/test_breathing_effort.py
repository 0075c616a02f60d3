"""Cracking, inhalation and exhalation effort, and the advice on the case."""

from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.breathing_effort import COMPUTATION, EFFORT
from jobs.bench.methods.repeats import mean_of
from jobs.bench.methods.verdicts import Instrument, Limit, Rule, Verdict
from jobs.bench.methods.worked import Result, judge

GAUGE = Instrument(resolution=Decimal("0.05"))
LIMIT = Limit(EFFORT, "mbar", low=Decimal("2.49"), high=Decimal("3.74"))


def read(instrument: Instrument | None = GAUGE, limit: Limit = LIMIT, **typed: str) -> Result:
    return judge(COMPUTATION, typed, [limit], instrument)


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [
        ({"first": "3.0"}, Verdict.WITHIN),
        ({"first": "1.2 inH2O"}, Verdict.WITHIN),
        ({"first": "3.0", "second": "3.1", "third": "2.9"}, Verdict.WITHIN),
        ({"first": "3.0", "second": "3.6"}, Verdict.INCONCLUSIVE),
        ({"first": "3.73"}, Verdict.INCONCLUSIVE),
        ({"first": "4.2"}, Verdict.OUTSIDE),
        ({"first": "0"}, Verdict.OUTSIDE),
    ],
)
def test_it_works(typed: dict[str, str], verdict: Verdict) -> None:
    assert judge(COMPUTATION, typed, [LIMIT], GAUGE).verdict == verdict


def test_it_takes_scatter_and_instrument_into_the_interval() -> None:
    readings = (3.0, 3.1, 2.9)
    found = read(first="3.0", second="3.1", third="2.9").values[EFFORT]
    _, scatter = mean_of(np.array(readings))
    assert scatter is not None
    half = (scatter**2 + 0.029**2) ** 0.5
    assert float(found.value) == pytest.approx(3.0)
    assert [float(side or 0) for side in (found.low, found.high)] == pytest.approx([3 - half, 3 + half])


def test_it_takes_either_alone_for_the_interval() -> None:
    _, scatter = mean_of(np.array((3.0, 3.1, 2.9)))
    scattered = read(None, first="3.0", second="3.1", third="2.9").values[EFFORT]
    assert float(scattered.high or 0) == pytest.approx(3.0 + (scatter or 0))
    assert float(read(first="3.0").values[EFFORT].high or 0) == pytest.approx(3.029)


@pytest.mark.parametrize("instrument", [None, Instrument()])
def test_it_knows_no_interval_of_one_reading_by_an_unknown_instrument(instrument: Instrument | None) -> None:
    found = read(instrument, first="3.0")
    assert (found.values[EFFORT].low, found.verdict) == (None, Verdict.INCONCLUSIVE)
    simple = Limit(EFFORT, "mbar", high=Decimal(4), decision=Rule.SIMPLE)
    assert read(instrument, simple, first="3.0").verdict == Verdict.WITHIN


def test_it_has_no_negative_bound() -> None:
    assert read(first="0.01").values[EFFORT].low == 0


@pytest.mark.parametrize(("end", "verdict"), [("3.0", Verdict.INCONCLUSIVE), ("3.01", Verdict.WITHIN)])
def test_it_rests_no_verdict_on_the_end_of_a_scale(end: str, verdict: Verdict) -> None:
    assert (
        read(Instrument(Decimal("0.05"), Decimal(end)), first="2.9", second="3.0", third="2.95").verdict
        == verdict
    )


@pytest.mark.parametrize(
    ("first", "height", "said"),
    [
        ("3.02", "30", "weigh 3.02 mbar: this effort is not below it"),
        ("3.02", "31", "weigh 3.12 mbar: this effort is below it"),
        ("15.08", "150", "weigh 15.08 mbar: this effort is not below it"),
        ("10.05181625", "100", "weigh 10.05 mbar: this effort is not below it"),
        ("10.05181624", "100", "weigh 10.05 mbar: this effort is below it"),
    ],
)
def test_it_advises_on_the_case(first: str, height: str, said: str) -> None:
    """1025 kg/m3 * 9.80665 m/s2 * 100 mm are 1005.181625 Pa; sea water of 1025 kg/m3 is the project's own choice."""
    (warning,) = read(first=first, height=height).warnings
    assert said in warning
    assert warning.endswith("Advice on the case, no limit.")
    assert not read(first="3.02").warnings


def test_it_keeps_the_breathing_rate_as_typed() -> None:
    assert read(first="3", rate="15").typed == {"first": "3", "rate": "15"}


@pytest.mark.parametrize(
    ("typed", "key", "reason"),
    [
        ({"first": ""}, "first", "Effort is missing."),
        ({"first": "-3"}, "first", "Effort is to be 0 to 200 mbar."),
        ({"first": "3 bar"}, "first", "Effort is to be 0 to 200 mbar."),
        ({"first": "3", "second": "201"}, "second", "Effort, second time is to be 0 to 200 mbar."),
        ({"first": "3", "third": "nan"}, "third", "Effort, third time: 'nan' is not a plain number such as 9.5 or -12."),
        ({"first": "3", "rate": "0"}, "rate", "Breathing rate is to be 1 to 60 /min."),
        ({"first": "3", "rate": "61"}, "rate", "Breathing rate is to be 1 to 60 /min."),
        ({"first": "3", "height": "-1"}, "height", "Diaphragm's centre to exhaust valve is to be 0 to 150 mm."),
        ({"first": "3", "height": "151"}, "height", "Diaphragm's centre to exhaust valve is to be 0 to 150 mm."),
        ({"first": "3", "tilt": "1"}, "tilt", "'tilt' is not asked for here."),
    ],
)  # fmt: skip
def test_it_refuses_what_cannot_be_meant(typed: dict[str, str], key: str, reason: str) -> None:
    with pytest.raises(BadFigures) as refused:
        judge(COMPUTATION, typed)
    assert refused.value.reasons == ((key, reason),)


@pytest.mark.parametrize(
    ("key", "figure"), [("first", "200"), ("rate", "1"), ("rate", "60"), ("height", "0"), ("height", "150")]
)
def test_it_takes_figures_up_to_their_bounds(key: str, figure: str) -> None:
    assert judge(COMPUTATION, {"first": "3"} | {key: figure}).typed[key] == figure
