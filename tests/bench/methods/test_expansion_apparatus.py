"""When the apparatus of a volumetric expansion test may not serve: through the judged test, as a doubt."""

from decimal import Decimal

import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.expansion_apparatus import FAULTS
from jobs.bench.methods.finding import Finding
from jobs.bench.methods.verdicts import Limit, Rule, Verdict
from jobs.bench.methods.volumetric_expansion import COMPUTATION
from jobs.bench.methods.worked import Result, judge

GOOD = {
    "required_pressure": "4000",
    "pressure": "4000",
    "total": "56.3",
    "permanent": "0.3",
    "gauge_full_scale": "8000",
    "gauge_accuracy": "0.5",
    "calibrated_pressure": "5000",
    "calibrated_expansion": "104.2",
    "calibrated_pressure_read": "5000",
    "calibrated_expansion_read": "104.2",
    "calibrated_permanent": "0",
}
TEN = Limit("permanent share", "percent", high=Decimal(10), decision=Rule.SIMPLE)


def judged(**changed: str) -> Result:
    return judge(COMPUTATION, GOOD | changed, [TEN])


def test_it_works() -> None:
    result = judged()
    assert (result.verdict, result.warnings) == (Verdict.WITHIN, ())


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"pressure": "3999.9"}, "The test pressure of 4000 psi was not reached."),
        ({"gauge_accuracy": "0.51", "gauge_full_scale": "5000"}, "A gauge of 0.51 % of full scale may not serve: 0.5 % is the most."),
        ({"gauge_full_scale": "8000.1"}, "The gauge may not serve below 4000.05 psi."),
        ({"gauge_full_scale": "4000"}, "The pressure reached the end of the gauge's scale."),
        ({"gauge_full_scale": "3500"}, "The pressure reached the end of the gauge's scale."),
        ({"calibrated_pressure_read": "4949"}, "The calibrated cylinder's pressure was read more than 1 % off."),
        ({"calibrated_pressure_read": "-5000"}, "The calibrated cylinder's pressure was read more than 1 % off."),
        ({"calibrated_expansion_read": "0"}, "The calibrated cylinder's expansion was read more than 1 % off."),
        ({"calibrated_permanent": "0.1"}, "The calibrated cylinder did not return to zero."),
        ({"calibrated_permanent": "-0.1"}, "The calibrated cylinder did not return to zero."),
        (
            {"earlier_pressure": "3600.1"},
            "3600.1 psi before the test is more than 90 % of the test pressure and counts as a test: only a fault of "
            "the apparatus lets it be repeated.",
        ),
    ],
)  # fmt: skip
def test_it_rests_no_verdict_on_a_doubtful_apparatus(changed: dict[str, str], said: str) -> None:
    assert (judged(**changed).verdict, judged(**changed).warnings) == (Verdict.INCONCLUSIVE, (said,))
    assert judged(**changed | {"permanent": "6"}).verdict == Verdict.INCONCLUSIVE


@pytest.mark.parametrize(
    "changed",
    [
        {"gauge_full_scale": "8000", "gauge_accuracy": "0.50"},
        {"gauge_full_scale": "4000.1"},
        {"gauge_full_scale": "16000", "gauge_accuracy": "0.25"},
        {"pressure": "4100"},
        {"earlier_pressure": "3600"},
    ],
)
def test_it_has_no_doubt_at_the_edges(changed: dict[str, str]) -> None:
    assert (judged(**changed).verdict, judged(**changed).warnings) == (Verdict.WITHIN, ())


@pytest.mark.parametrize("tenths", range(3000, 3600, 7))
def test_it_finds_the_edges_in_bar_as_well(tenths: int) -> None:
    bar = Decimal(tenths) / 10
    in_bar = {
        "required_pressure": f"{bar} bar",
        "pressure": f"{bar} bar",
        "earlier_pressure": f"{bar * 9 / 10} bar",
        "gauge_full_scale": f"{bar * 2} bar",
        "calibrated_pressure": f"{bar} bar",
        "calibrated_pressure_read": f"{bar * 101 / 100} bar",
    }
    assert (judged(**in_bar).verdict, judged(**in_bar).warnings) == (Verdict.WITHIN, ())


@pytest.mark.parametrize(
    ("earlier", "reached", "least"),
    [
        ("3900", "4100", ""),
        ("3900", "4099.9", "4100"),
        ("3900", "4000", "4100"),
        ("4100", "4100", ""),
        ("4150", "4149", "4150"),
        ("3600", "4000", ""),
        ("2000", "4000", ""),
    ],
)
def test_it_raises_a_test_repeated_after_a_fault(earlier: str, reached: str, least: str) -> None:
    result = judged(earlier_pressure=earlier, pressure=reached, fault="pressure gauge")
    repeated = "Repeated after a fault of the apparatus: pressure gauge. That is done once, and never to rescue a cylinder."
    if least:
        raised = f"Repeated after {earlier} psi, the test needs {least} psi."
        assert (result.verdict, result.warnings) == (Verdict.INCONCLUSIVE, (raised, repeated))
    else:
        assert (result.verdict, result.warnings) == (Verdict.WITHIN, (repeated,))


def test_it_raises_by_ten_per_cent_where_that_is_less() -> None:
    small = {
        "required_pressure": "900",
        "gauge_full_scale": "1100",
        "earlier_pressure": "900",
        "fault": "other",
    }
    assert judged(**small, pressure="990").verdict == Verdict.WITHIN
    assert judged(**small, pressure="989").verdict == Verdict.INCONCLUSIVE


def test_it_condemns_in_a_repeat_too() -> None:
    again = {"earlier_pressure": "3900", "pressure": "4100", "fault": "connection or seal"}
    assert judged(**again, permanent="6").verdict == Finding.CONDEMN


@pytest.mark.parametrize("fault", FAULTS)
def test_it_asks_how_high_the_spoilt_test_went(fault: str) -> None:
    with pytest.raises(BadFigures) as caught:
        judged(fault=fault)
    said = "Say how high the pressure went in the test that the apparatus spoilt."
    assert caught.value.reasons == (("earlier_pressure", said),)


def test_it_says_what_was_not_told_of_the_apparatus() -> None:
    few = {key: GOOD[key] for key in ("required_pressure", "pressure", "total", "permanent")}
    assert judge(COMPUTATION, few, [TEN]).warnings == (
        "The gauge's accuracy was not given: whether it may serve at this pressure is not known.",
        "No check against the calibrated cylinder was given.",
    )


@pytest.mark.parametrize(
    ("missing", "label"),
    [
        ("gauge_full_scale", "Gauge: full scale"),
        ("gauge_accuracy", "Gauge: accuracy"),
        ("calibrated_pressure", "Calibrated cylinder: certified pressure"),
        ("calibrated_expansion", "Calibrated cylinder: certified expansion"),
        ("calibrated_pressure_read", "Calibrated cylinder: pressure read"),
        ("calibrated_expansion_read", "Calibrated cylinder: expansion read"),
        ("calibrated_permanent", "Calibrated cylinder: left after release"),
    ],
)
def test_it_takes_no_part_of_a_check(missing: str, label: str) -> None:
    with pytest.raises(BadFigures) as caught:
        judged(**{missing: ""})
    assert caught.value.reasons == ((missing, f"{label} is missing."),)
