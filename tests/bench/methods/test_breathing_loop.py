"""Breathing loop: what is measured, with which interval, and what each record is said to be."""

from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.breathing_loop import METHOD_NAME, METHOD_VERSION, QUANTITIES, Result, judge
from jobs.bench.methods.loop_cautions import AT_THE_SURFACE
from jobs.bench.methods.loops import Loop, from_volumes
from jobs.bench.methods.units import UNITS, UnitError
from jobs.bench.methods.verdicts import Instrument, Limit, Rule, Verdict
from tests.bench.methods.breathing import (
    POLYGON_L,
    POLYGON_MBAR,
    VENTURI_L,
    VENTURI_MBAR,
    angles,
    resisting,
    sinus,
    timed,
)

WORK = Limit("work of breathing", "J_l", high=Decimal("3.0"))
SENSOR = Instrument(resolution=Decimal("0.1"), range_high=Decimal(50), standard_uncertainty=Decimal("0.05"))
# 2 * sqrt(0.1^2/12 + 0.05^2) = 0.1155, two digits, upwards.
SENSOR_MBAR = Decimal("0.12")


def polygon(scale: float = 1.0, offset_mbar: float = 0.0, repeats: int = 1) -> Loop:
    pressures = [scale * pressure + offset_mbar for pressure in POLYGON_MBAR]
    return from_volumes([*POLYGON_L[:-1] * repeats, 0.0], [*pressures[:-1] * repeats, pressures[-1]])


def breaths(*peaks_mbar: float, points: int = 200) -> Loop:
    """Linear resistance, its peak another one in each breath."""
    angle = angles(points, len(peaks_mbar))
    peaks = np.repeat(peaks_mbar, points)
    return sinus(angle, resisting(angle) / 10 * np.append(peaks, peaks_mbar[-1]))


def said(result: Result, quantity: str = "work of breathing") -> str:
    return result.decisions[quantity].sentence


def test_it_works() -> None:
    angle = angles(400, 5)
    pressures = resisting(angle) * (1 + 0.01 * np.sin(angle / 5))
    result = judge(timed(angle, pressures), [WORK], SENSOR)
    assert (result.method, result.version) == (METHOD_NAME, METHOD_VERSION) == ("breathing loop", "1")
    assert result.verdict is Verdict.WITHIN
    assert set(result.figures.values) == set(QUANTITIES)
    assert (result.limits, result.instrument) == ((WORK,), SENSOR)
    figures = result.figures
    assert (figures.breaths, figures.points_a_breath) == (5, 400)
    assert (figures.tidal_volume_l, figures.breaths_min) == (Decimal("2.500"), Decimal("25.00"))
    assert figures.values["minute volume"].value == Decimal("62.50")
    assert figures.values["minute volume"].high == pytest.approx(Decimal("62.50"), abs=Decimal("0.05"))
    assert said(result).startswith("Work of breathing 1.57")
    assert said(result).endswith(" is within: limit at most 3.0 J/L.")
    assert result.warnings[-1] == AT_THE_SURFACE


def test_it_names_units_that_exist() -> None:
    assert set(QUANTITIES.values()) <= set(UNITS)


def test_it_gives_one_breath_the_instrument_s_interval() -> None:
    # The error of the method with 8 points is 10 %, and enters too.
    values = judge(polygon(), instrument=SENSOR).figures.values
    assert values["work of breathing"].value == Decimal("1.5400")
    half = (0.024**2 + (0.0996838 * 1.54) ** 2) ** 0.5
    assert float(values["work of breathing"].high or 0) == pytest.approx(1.54 + half, abs=1.1e-4)
    assert float(values["work of breathing"].low or 0) == pytest.approx(1.54 - half, abs=1.1e-4)
    half = (0.012**2 + (0.0996838 * 0.74) ** 2) ** 0.5
    assert float(values["inhalation work"].high or 0) == pytest.approx(0.74 + half, abs=1.1e-4)
    peak = values["peak inhalation pressure"]
    assert (peak.low, peak.value, peak.high) == (Decimal("-10.120"), Decimal("-10.000"), Decimal("-9.880"))
    helping = values["positive pressure during inhalation"]
    assert (helping.low, helping.value, helping.high) == (Decimal(0), Decimal(0), Decimal("0.120"))
    # 0.12 mbar higher, it would be positive on a small triangle beside each turn.
    positive = values["positive work during inhalation"]
    assert (positive.low, positive.value) == (Decimal(0), Decimal(0))
    assert float(positive.high or 0) == pytest.approx(
        0.1 / 2.5 * 0.06 * 0.12 * (0.25 / 10 + 0.25 / 10), abs=1.1e-4
    )
    assert "minute volume" not in values


def test_it_bounds_positive_work_by_how_far_it_could_grow() -> None:
    loop = from_volumes(VENTURI_L, VENTURI_MBAR)
    values = judge(loop, instrument=Instrument(standard_uncertainty=Decimal("0.25"))).figures.values
    value, external = values["positive work during inhalation"], values["external work during inhalation"]
    # Half a millibar more along the 1.75 L that are not negative, and on the triangles at either end of the effort.
    grown = 0.1 / 2.5 * (0.5 * 1.75 + 0.5 * 0.5 * (0.25 + 0.5) * 0.5 / 8)
    # Nine samples: their error is sin(x)/x - 1 with x = 40 degrees.
    error = 0.2 * (1 - 0.6427876 / 0.6981317)
    assert float(value.high or 0) == pytest.approx(0.2 + np.hypot(grown, error), abs=2e-4)
    # Half a millibar less makes the effort 3.515625 mbar L instead of 3.
    assert float(external.high or 0) == pytest.approx(0.12 + np.hypot(0.020625, 0.6 * error), abs=2e-4)
    assert float(external.low or 0) == pytest.approx(0.12 - np.hypot(0.020625, 0.6 * error), abs=2e-4)


@pytest.mark.parametrize("instrument", [None, Instrument(range_high=Decimal(50))])
def test_it_has_no_interval_for_one_breath_of_an_unknown_instrument(instrument: Instrument | None) -> None:
    result = judge(polygon(), [WORK], instrument)
    assert all(value.low is None and value.high is None for value in result.figures.values.values())
    assert result.verdict is Verdict.INCONCLUSIVE
    assert said(result) == (
        "No uncertainty is known, so work of breathing cannot be held against a guarded limit. Limit at most 3.0 J/L. "
        "Record several breaths: their scatter gives an interval."
    )


@pytest.mark.parametrize(("quantity", "high"), [("work of breathing", "1.54"), ("inhalation work", "0.74")])
def test_it_advises_more_breaths_where_the_instrument_is_known(quantity: str, high: str) -> None:
    result = judge(polygon(), [Limit(quantity, "J_l", high=Decimal(high))], SENSOR)
    assert result.verdict is Verdict.INCONCLUSIVE
    assert said(result, quantity).endswith(
        "More breaths narrow the interval as far as the instrument allows."
    )


def test_it_judges_one_breath_by_its_value_where_the_limit_says_so() -> None:
    simple = Limit("work of breathing", "J_l", high=Decimal("1.54"), decision=Rule.SIMPLE)
    assert judge(polygon(), [simple]).verdict is Verdict.WITHIN
    assert judge(polygon(1.001), [simple]).verdict is Verdict.OUTSIDE


def test_it_takes_the_interval_of_several_breaths_from_their_scatter() -> None:
    value = judge(breaths(9.8, 10.0, 10.1, 10.3)).figures.values["peak exhalation pressure"]
    # Mean 10.05, s = 0.2081666, Student's factor for 3 is 3.183.
    assert value.value == Decimal("10.050")
    assert float(value.high or 0) - 10.05 == pytest.approx(3.183 * 0.2081666 / 2, abs=2e-3)
    assert float(value.high or 0) + float(value.low or 0) == pytest.approx(20.1, abs=2e-3)


def test_it_rounds_bounds_outwards() -> None:
    value = judge(breaths(9.8, 10.0, 10.1, 10.3), instrument=SENSOR).figures.values[
        "peak exhalation pressure"
    ]
    half = np.hypot(3.183 * 0.20816660 / 2, float(SENSOR_MBAR))
    assert 10.05 - half - 0.001 < float(value.low or 0) <= 10.05 - half
    assert 10.05 + half <= float(value.high or 0) < 10.05 + half + 0.001


def test_it_adds_the_instrument_to_the_scatter() -> None:
    coarse = Instrument(standard_uncertainty=Decimal("0.5"))
    value = judge(breaths(9.8, 10.0, 10.1, 10.3), instrument=coarse).figures.values[
        "peak exhalation pressure"
    ]
    assert float(value.high or 0) - 10.05 == pytest.approx(np.hypot(3.183 * 0.2081666 / 2, 1.0), abs=2e-3)


def test_it_counts_the_steps_that_it_sees_where_nothing_is_stated() -> None:
    angle = angles(200, 3)
    loop = sinus(angle, np.round(resisting(angle)))
    value = judge(loop).figures.values["peak exhalation pressure"]
    assert float(value.high or 0) - 10 == pytest.approx(2 / 12**0.5, abs=2e-3)
    stated = judge(loop, instrument=Instrument(resolution=Decimal("0.01"))).figures.values
    assert stated["peak exhalation pressure"] == value


@pytest.mark.parametrize(
    ("high", "verdict"),
    [
        ("1.70", Verdict.WITHIN),
        ("1.40", Verdict.OUTSIDE),
        ("1.56", Verdict.INCONCLUSIVE),
        ("1.59", Verdict.INCONCLUSIVE),
    ],
)
def test_it_judges_by_the_whole_interval(high: str, verdict: Verdict) -> None:
    result = judge(breaths(9.8, 10.0, 10.1, 10.3), [Limit("work of breathing", "J_l", high=Decimal(high))])
    assert result.verdict is verdict
    assert said(result).endswith("as far as the instrument allows.") == (verdict is Verdict.INCONCLUSIVE)


def test_it_says_when_single_breaths_are_outside_a_limit_that_the_mean_keeps() -> None:
    limit = Limit("peak inhalation pressure", "mbar", low=Decimal(-11))
    found = judge(breaths(10, 10, 10, 10, 10, 10, 10, 11.5), [limit])
    assert found.verdict is Verdict.WITHIN
    assert (
        found.warnings[0]
        == "The mean peak inhalation pressure is within its limit, but 1 of 8 breaths alone are not."
    )
    assert not any("alone are not" in each for each in judge(breaths(10, 10, 10.5), [limit]).warnings)
    outside = judge(breaths(12, 12, 12), [limit])
    assert outside.verdict is Verdict.OUTSIDE
    assert not any("alone are not" in each for each in outside.warnings)


def test_it_has_no_minute_volume_without_times() -> None:
    result = judge(breaths(10, 10), [Limit("minute volume", "l_min", Decimal(60), Decimal(65))])
    assert result.verdict is Verdict.INCONCLUSIVE
    assert (
        said(result, "minute volume") == "A record without times has no minute volume. Limit 60 to 65 L/min."
    )


def test_it_judges_the_minute_volume_of_several_breaths() -> None:
    limit = Limit("minute volume", "l_min", Decimal("60.625"), Decimal("64.375"))
    assert judge(timed(angles(200, 3), resisting(angles(200, 3))), [limit]).verdict is Verdict.WITHIN
    single = judge(timed(angles(200, 1), resisting(angles(200, 1))), [limit], SENSOR)
    assert single.verdict is Verdict.INCONCLUSIVE
    assert said(single, "minute volume").endswith("Record several breaths: their scatter gives an interval.")


def test_it_takes_a_limit_in_another_unit_but_not_of_another_kind() -> None:
    limit = Limit("peak inhalation pressure", "inH2O", low=Decimal(-5))
    assert "printed as at least -5 inH2O" in said(
        judge(polygon(), [limit], SENSOR), "peak inhalation pressure"
    )
    with pytest.raises(UnitError, match="cannot be converted"):
        judge(polygon(), [Limit("work of breathing", "kPa", high=Decimal(3))])


def test_it_refuses_limits_that_it_cannot_mean() -> None:
    with pytest.raises(ValueError, match="This method measures work of breathing, .*; it has no 'creep'"):
        judge(polygon(), [Limit("creep", "bar_min", high=Decimal(1))])
    with pytest.raises(ValueError, match="There are two limits for work of breathing"):
        judge(polygon(), [WORK, WORK])


def test_it_rests_no_verdict_on_a_loop_that_runs_backwards() -> None:
    every = [Limit("peak inhalation pressure", "mbar", low=Decimal(-25)), WORK]
    result = judge(polygon(-1.0), every, SENSOR)
    assert result.verdict is Verdict.INCONCLUSIVE
    assert {decision.verdict for decision in result.decisions.values()} == {Verdict.INCONCLUSIVE}
    assert result.warnings[0].startswith("The loop runs the wrong way round")
    # A limit that it breaks does not make the verdict certain either.
    low = Limit("work of breathing", "J_l", low=Decimal(0))
    assert judge(polygon(-1.0), [low], SENSOR).verdict is Verdict.INCONCLUSIVE


def test_it_does_not_doubt_a_loop_without_area() -> None:
    loop = from_volumes(POLYGON_L, [-volume for volume in POLYGON_L])
    result = judge(loop, [WORK], SENSOR)
    assert result.figures.values["work of breathing"].value == 0
    assert result.verdict is Verdict.WITHIN


@pytest.mark.parametrize(("end", "verdict"), [("10", Verdict.INCONCLUSIVE), ("10.1", Verdict.WITHIN)])
@pytest.mark.parametrize("upper_mbar", [10, 8])
def test_it_rests_no_verdict_on_a_sensor_at_the_end_of_its_range(
    end: str, verdict: Verdict, upper_mbar: float
) -> None:
    loop = from_volumes(POLYGON_L, [min(pressure, upper_mbar) for pressure in POLYGON_MBAR])
    result = judge(loop, [WORK], Instrument(Decimal("0.1"), Decimal(end)))
    assert result.verdict is verdict
    assert ("end of the instrument's range" in result.warnings[0]) == (verdict is Verdict.INCONCLUSIVE)


def test_it_is_inconclusive_without_a_limit_and_names_what_was_not_judged() -> None:
    result = judge(polygon(), (), SENSOR)
    assert result.verdict is Verdict.INCONCLUSIVE
    assert result.warnings[-2] == (
        "Measured, not judged, because no limit was given: work of breathing, inhalation work, exhalation work, external work "
        "during inhalation, positive work during inhalation, peak inhalation pressure, peak exhalation pressure, positive "
        "pressure during inhalation."
    )
    measured = [name for name in QUANTITIES if name != "minute volume"]
    limits = [Limit(name, QUANTITIES[name], high=Decimal(99)) for name in measured]
    assert not any("not judged" in each for each in judge(polygon(), limits, SENSOR).warnings)


def warned(loop: Loop, words: str, instrument: Instrument | None = SENSOR) -> list[str]:
    return [each for each in judge(loop, [WORK], instrument).warnings if words in each]


def test_it_tells_of_too_few_samples_with_the_error() -> None:
    (told,) = warned(breaths(10, 10, points=50), "samples in a breath")
    assert told == (
        "There are only 50 samples in a breath: even when evenly spread, they alone make the work come out about -0.263 % "
        "off. From 182 on it is less than 0.02 %."
    )
    assert warned(breaths(10, points=181), "samples in a breath")
    assert not warned(breaths(10, points=182), "samples in a breath")


def test_it_tells_of_a_gap_that_it_closed() -> None:
    angle = angles(400, 3)
    loop = timed(angle, resisting(angle), zero_l_s=-0.04)
    (told,) = warned(loop, "The gap was closed")
    assert told == (
        "The volume ended up to -0.096 L, 3.84 % of the tidal volume, from where the breath began. The gap was closed; more "
        "than 5% would be refused."
    )
    assert not warned(breaths(10, 10), "The gap was closed")
    value = judge(loop, [WORK], SENSOR).figures.values["work of breathing"]
    assert float(value.high or 0) - float(value.value) == pytest.approx(
        np.hypot(0.024, 1.5708 * 0.0192), abs=5e-4
    )


def test_it_tells_of_an_error_of_zero() -> None:
    (told,) = warned(polygon(1.0, 2.5), "Where nothing flows")
    assert told.startswith("Where nothing flows the pressure is ")
    assert not warned(polygon(), "Where nothing flows")
    for offset, tells in ((0.9, False), (-0.9, False), (1.1, True), (-1.1, True)):
        angle = angles(200, 3)
        assert bool(warned(sinus(angle, resisting(angle) + offset), "Where nothing flows")) == tells
    shifted = judge(sinus(angle, resisting(angle) + 2), [WORK], SENSOR).figures
    assert shifted.values["work of breathing"].value == Decimal("1.5705")
    assert shifted.values["inhalation work"].value == Decimal("0.5853")
    assert shifted.values["exhalation work"].value == Decimal("0.9853")
    assert shifted.values["peak inhalation pressure"].value == Decimal("-8.000")
    assert shifted.values["peak exhalation pressure"].value == Decimal("12.000")
    assert shifted.zero_mbar == Decimal("2.000")


@pytest.mark.parametrize("drift_mbar", [-2.0, 0.5, 2.0])
def test_it_tells_of_a_drifting_pressure(drift_mbar: float) -> None:
    angle = angles(200, 5)
    told = warned(sinus(angle, resisting(angle) + drift_mbar * angle / angle[-1] * 1.25), "the sensor drifts")
    assert bool(told) == (abs(drift_mbar) > 1)
    # Work of each breath keeps its area to the drift within it.
    assert judge(sinus(angle, resisting(angle) + drift_mbar * angle / angle[-1])).figures.values[
        "work of breathing"
    ].value == pytest.approx(Decimal("1.5705"), abs=Decimal("0.06"))


def test_it_tells_of_unequal_breaths_of_samples_left_out_and_of_an_unknown_instrument() -> None:
    angle = angles(200, 2)
    tidal = np.where(angle < 2 * np.pi, 2.5, 2.6)
    uneven = from_volumes(tidal / 2 * (1 - np.cos(angle)), resisting(angle))
    assert warned(uneven, "The breaths differ") == [
        "The breaths differ: tidal volumes from 2.500 to 2.600 L."
    ]
    assert not warned(breaths(10, 10), "The breaths differ")
    longer = sinus(angles(200, 2.25), resisting(angles(200, 2.25)))
    assert warned(longer, "left out") == ["50 samples before and after the whole breaths were left out."]
    assert not warned(breaths(10, 10), "left out")
    assert warned(breaths(10, 10), "Nothing is known of the pressure instrument", None)
    assert not warned(breaths(10, 10), "Nothing is known of the pressure instrument")
    assert not warned(breaths(10), "Nothing is known of the pressure instrument", None)


def test_it_never_claims_conformity() -> None:
    words = " ".join([*judge(polygon(), [WORK], SENSOR).warnings, said(judge(polygon(), [WORK], SENSOR))])
    assert "claims conformity with no standard" in words
    assert "safe" not in words
    assert "conforms" not in words
