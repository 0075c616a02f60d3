"""The drawing of a breathing loop: geometry, thinning, and the sentence that says it all."""

import re
from decimal import Decimal

import numpy as np
import pytest

from jobs.bench.methods.breathing_loop import judge
from jobs.bench.methods.loop_pictures import loop_picture
from jobs.bench.methods.loops import Loop, from_volumes
from jobs.bench.methods.pictures import Picture
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
    texts = [label.text for label in picture.labels]
    assert texts == [
        "0.0 L",
        "0.5 L",
        "1.0 L",
        "1.5 L",
        "2.0 L",
        "2.5 L",
        "-10.0",
        "-5.0",
        "0.0",
        "5.0",
        "10.0",
        "mbar",
        "inhaling drawn through, exhaling dashed",
    ]
    assert picture.grid.count("H870") == 5
    assert picture.grid.count("v5") == 6


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
    places = [float(text) for text in re.findall(r"M54 ([\d.]+)H870", picture.mark)]
    assert len(places) == 3
    assert all(34 < at < 304 for at in places)
    texts = {label.text for label in picture.labels}
    assert {"peak inhalation: lower limit -25 mbar", "peak exhalation: upper limit 25 mbar"} <= texts


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


@pytest.mark.parametrize(("breaths", "width"), [(1, 900), (1, 2000), (10, 900), (20, 300)])
def test_it_thins_a_long_record_and_keeps_its_extremes(breaths: int, width: int) -> None:
    angle = angles(200_000 // breaths - 1, breaths)
    pressures = resisting(angle)
    pressures[len(pressures) // 3] = -40.0
    pressures[20] = pressures[-20] = 30.0
    picture = drawn(sinus(angle, pressures), width=width)
    assert picture.line.count(",") + picture.fit.count(",") <= 4 * min(800, width)
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
