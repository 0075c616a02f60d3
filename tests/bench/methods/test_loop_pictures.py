"""The drawing of a breathing loop: geometry, thinning, and the sentence that says it all."""

import re
from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.breathing_loop import judge
from jobs.bench.methods.loop_pictures import loop_picture
from jobs.bench.methods.loops import Loop, from_volumes
from jobs.bench.methods.pictures import Label, Picture
from jobs.bench.methods.verdicts import Instrument, Limit
from tests.bench.methods.breathing import POLYGON_L, POLYGON_MBAR, angles, resisting, sinus

LIMITS = (
    Limit("peak inhalation pressure", "mbar", low=Decimal(-25)),
    Limit("peak exhalation pressure", "mbar", high=Decimal(25)),
    Limit("work of breathing", "J_l", high=Decimal(3)),
)
SENSOR = Instrument(resolution=Decimal("0.01"))


def drawn(loop: Loop, limits: tuple[Limit, ...] = (), width: int = 900) -> Picture:
    return loop_picture(loop, judge(loop, limits, SENSOR), limits, width)


def test_it_works() -> None:
    picture = drawn(from_volumes(POLYGON_L, POLYGON_MBAR))
    assert (picture.width, picture.height) == ("900", "330")
    # 0 to 2.5 L between 54 and 870; -11.2 to 11.2 mbar between 304 and 34.
    assert picture.line == "M54,169 135.6,289.5 462,241.3 788.4,289.5 870,169"
    assert picture.fit == "M54,169 135.6,72.6 462,48.5 788.4,72.6 870,169"
    assert picture.mark == "M54 169H870"
    assert picture.band is None
    # 163.2 pixels are half a litre, 60.27 pixels are 5 mbar.
    assert picture.labels == (
        Label("54", "326", "middle", "0.0 L"),
        Label("217.2", "326", "middle", "0.5 L"),
        Label("380.4", "326", "middle", "1.0 L"),
        Label("543.6", "326", "middle", "1.5 L"),
        Label("706.8", "326", "middle", "2.0 L"),
        Label("870", "326", "middle", "2.5 L"),
        Label("46", "293.5", "end", "-10.0"),
        Label("46", "233.3", "end", "-5.0"),
        Label("46", "173", "end", "0.0"),
        Label("46", "112.7", "end", "5.0"),
        Label("46", "52.5", "end", "10.0"),
        Label("46", "14", "end", "mbar"),
        Label("870", "14", "end", "inhaling drawn through, exhaling dashed"),
    )
    assert picture.grid == (
        "M54 289.5H870M54 229.3H870M54 169H870M54 108.7H870M54 48.5H870"
        "M54 304v5M217.2 304v5M380.4 304v5M543.6 304v5M706.8 304v5M870 304v5"
    )


def test_it_says_the_numbers_with_their_units() -> None:
    loop = from_volumes(POLYGON_L, POLYGON_MBAR)
    number = r"-?\d+\.\d+"
    assert re.fullmatch(
        rf"Breathing loop, 1 of 1 breaths drawn; work of breathing 1\.5400 J/L, 95 % interval {number} to {number} J/L; "
        rf"peak inhalation pressure -10\.000 mbar, 95 % interval {number} to {number} mbar; "
        rf"peak exhalation pressure 10\.000 mbar, 95 % interval {number} to {number} mbar; verdict within\.",
        loop_picture(loop, judge(loop, LIMITS[2:], SENSOR), ()).sentence,
    )
    assert loop_picture(loop, judge(loop), ()).sentence == (
        "Breathing loop, 1 of 1 breaths drawn; work of breathing 1.5400 J/L; peak inhalation pressure -10.000 mbar; "
        "peak exhalation pressure 10.000 mbar; verdict inconclusive."
    )


def test_it_draws_the_limits_of_the_peaks_inside_the_drawing() -> None:
    picture = drawn(from_volumes(POLYGON_L, POLYGON_MBAR), LIMITS)
    # -28 to 28 mbar between 304 and 34.
    assert picture.mark == "M54 169H870M54 289.5H870M54 48.5H870"
    assert picture.labels[-2:] == (
        Label("870", "305.5", "end", "peak inhalation: lower limit -25 mbar"),
        Label("870", "42.5", "end", "peak exhalation: upper limit 25 mbar"),
    )


def test_it_draws_limits_in_another_unit() -> None:
    picture = drawn(
        from_volumes(POLYGON_L, POLYGON_MBAR), (Limit("peak exhalation pressure", "inH2O", high=Decimal(3)),)
    )
    assert "peak exhalation: upper limit 7.4726673 mbar" in {label.text for label in picture.labels}


@pytest.mark.parametrize(("breaths", "shown"), [(1, 1), (3, 3), (10, 10), (11, 10), (40, 10)])
def test_it_draws_at_most_ten_breaths(breaths: int, shown: int) -> None:
    angle = angles(200, breaths)
    picture = drawn(sinus(angle, resisting(angle)))
    assert picture.line.count("M") == picture.fit.count("M") == shown
    assert picture.sentence.startswith(f"Breathing loop, {shown} of {breaths} breaths drawn;")


@pytest.mark.parametrize(("breaths", "width"), [(1, 640), (1, 900), (1, 2000), (10, 900), (20, 300)])
def test_it_thins_a_long_record_and_keeps_its_extremes(breaths: int, width: int) -> None:
    angle = angles(200_000 // breaths - 1, breaths)
    pressures = resisting(angle)
    pressures[len(pressures) // 3] = -40.0
    pressures[20] = pressures[-20] = 30.0
    picture = drawn(sinus(angle, pressures), width=width)
    assert picture.line.count(",") + picture.fit.count(",") <= 4 * min(800, width)
    if width == 640:
        # One column a pixel between the margins, two samples a column, each way.
        assert (picture.line.count(","), picture.fit.count(",")) == (2 * 556, 2 * 556)
    if breaths == 1:
        lowest = max(float(at) for at in re.findall(r",([\d.]+)", picture.line))
        assert lowest == pytest.approx(304 - 270 * 0.06 / 1.12, abs=0.2)


def test_it_draws_no_pressure_at_all() -> None:
    loop = from_volumes(POLYGON_L, np.zeros(9))
    picture = drawn(loop)
    assert picture.mark == "M54 169H870"
    assert "nan" not in picture.line + picture.fit + picture.grid


@pytest.mark.parametrize("offset_mbar", [-30.0, 30.0])
def test_it_always_shows_zero_pressure(offset_mbar: float) -> None:
    picture = drawn(from_volumes(POLYGON_L, [offset_mbar + pressure for pressure in POLYGON_MBAR]))
    found = re.fullmatch(r"M54 ([\d.]+)H870", picture.mark)
    assert found
    assert 34 < float(found[1]) < 304


def test_exhalation_is_drawn_from_the_least_volume_too() -> None:
    picture = drawn(from_volumes(POLYGON_L, [0, -10, -6, -10, 0, 4, 10, 8, 0]))
    assert picture.fit == "M54,169 135.6,72.6 462,48.5 788.4,120.8 870,169"
