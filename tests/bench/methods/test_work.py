"""The work in one breath: the area and its parts, exact for straight lines."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.bench.methods.breaths import Breath
from jobs.bench.methods.loops import from_volumes
from jobs.bench.methods.traces import Floats
from jobs.bench.methods.work import area, method_error, parted, work_of
from tests.bench.methods.breathing import (
    POLYGON_L,
    POLYGON_MBAR,
    VENTURI_L,
    VENTURI_MBAR,
    angles,
    resisting,
    sinus,
)


def one(volumes_l: Sequence[float] | Floats, pressures_mbar: Sequence[float] | Floats) -> Breath:
    (breath,) = from_volumes(volumes_l, pressures_mbar).breaths
    return breath


def test_it_works() -> None:
    work = work_of(one(POLYGON_L, POLYGON_MBAR))
    assert work.total == pytest.approx(1.54, abs=1e-12)
    assert (work.inhaling, work.exhaling) == pytest.approx((0.74, 0.80), abs=1e-12)
    assert (work.external, work.positive) == pytest.approx((0.74, 0.0), abs=1e-12)
    assert (work.lowest_mbar, work.highest_mbar, work.helping_mbar) == (-10, 10, 0)


def test_it_never_nets_positive_work_with_external() -> None:
    work = work_of(one(VENTURI_L, VENTURI_MBAR))
    assert (work.external, work.positive) == pytest.approx((0.12, 0.20), abs=1e-12)
    assert (work.inhaling, work.total) == pytest.approx((-0.08, -0.08), abs=1e-12)
    assert work.helping_mbar == 4


def test_it_needs_no_sample_at_the_crossing() -> None:
    # From -8 mbar at 0.5 L straight to 8 mbar at 1 L: zero at 0.75 L, a sample there or not.
    volumes = [*VENTURI_L[:2], 1.0, *VENTURI_L[4:]]
    pressures = [*VENTURI_MBAR[:2], 8, 8, *VENTURI_MBAR[5:]]
    with_sample = work_of(one([*volumes[:2], 0.75, *volumes[2:]], [*pressures[:2], 0, *pressures[2:]]))
    without = work_of(one(volumes, pressures))
    assert without.positive == pytest.approx(with_sample.positive, abs=1e-12)
    assert without.external == pytest.approx(with_sample.external, abs=1e-12)


def test_it_parts_a_line_where_it_crosses_zero() -> None:
    # Triangles, computed by hand: below 0.25 * 1 / 2 and 0.5 * 2 / 2, above 0.75 * 3 / 2 + 3 / 2 + 2 / 2 + 0.5 * 2 / 2.
    below, above = parted(np.array([0.0, 1, 2, 3, 4]), np.array([-1.0, 3, 0, 2, -2]))
    assert (below, above) == pytest.approx((0.625, 4.125), abs=1e-15)
    assert parted(np.array([0.0, 1, 2]), np.zeros(3)) == (0.0, 0.0)


@pytest.mark.parametrize("offset", [-10.0, -0.3, 2.0, 10.0])
def test_it_keeps_the_area_under_an_error_of_zero_and_moves_the_rest(offset: float) -> None:
    breath = one(POLYGON_L, POLYGON_MBAR)
    plain, shifted = work_of(breath), work_of(breath, offset)
    assert shifted.total == pytest.approx(plain.total, abs=1e-12)
    assert shifted.inhaling == pytest.approx(plain.inhaling - offset / 10, abs=1e-12)
    assert shifted.exhaling == pytest.approx(plain.exhaling + offset / 10, abs=1e-12)
    assert shifted.lowest_mbar == pytest.approx(plain.lowest_mbar + offset)
    assert shifted.highest_mbar == pytest.approx(plain.highest_mbar + offset)
    assert shifted.zero_mbar == pytest.approx(plain.zero_mbar + offset)


def test_it_finds_the_zero_where_nothing_flows() -> None:
    for points in (100, 101, 400):
        for power in (0.5, 1, 2):
            angle = angles(points)
            breath = sinus(angle, resisting(angle, power) + 1.5).breaths[0]
            assert work_of(breath).zero_mbar == pytest.approx(1.5, abs=0.6)


def test_it_does_not_take_the_end_of_exhalation_for_help() -> None:
    # Pressure jumps at the turns of volume; both corners are recorded.
    breath = one([0, 0, 1, 2, 2.5, 2.5, 2, 1, 0], [9, -9, -9, -9, -9, 9, 9, 9, 9])
    work = work_of(breath)
    assert work.helping_mbar == 0
    assert work.total == pytest.approx(1.8, abs=1e-12)


@pytest.mark.parametrize("points", [8, 50, 100, 181, 182, 200, 500])
def test_it_errs_as_a_polygon_in_an_ellipse(points: int) -> None:
    angle = angles(points)
    total = work_of(sinus(angle, resisting(angle)).breaths[0]).total
    if points % 2 == 0:  # With an odd number the greatest volume falls between two samples.
        assert total / (math.pi / 2) - 1 == pytest.approx(method_error(points), rel=1e-9)
    assert (abs(method_error(points)) < 2e-4) == (points >= 182)


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.floats(-50, 50), min_size=21, max_size=21),
    st.lists(st.floats(0.01, 1), min_size=10, max_size=10),
    st.floats(-20, 20),
)
def test_it_agrees_with_itself_on_any_polygon(
    pressures: list[float], steps: list[float], offset: float
) -> None:
    rise = np.concatenate([[0.0], np.cumsum(steps)]) * (2.5 / sum(steps))
    breath = one(np.concatenate([rise, rise[-2::-1]]), pressures)
    work, shifted = work_of(breath), work_of(breath, offset)
    assert work.total == pytest.approx(work.inhaling + work.exhaling)
    assert work.inhaling == pytest.approx(work.external - work.positive, abs=1e-9)
    assert shifted.total == pytest.approx(work.total, abs=1e-9)
    assert work.external >= 0
    assert work.positive >= 0
    backwards = one(breath.volumes_l[::-1], pressures[::-1])
    assert work_of(backwards).total == pytest.approx(-work.total, abs=1e-9)


def test_it_measures_an_area_by_its_trapezoids() -> None:
    assert area(np.array([0.0, 1, 3]), np.array([2.0, 4, 0])) == 3 + 4


@pytest.mark.parametrize("most", [3, 4])
def test_the_turn_belongs_to_both_halves(most: int) -> None:
    volumes = np.array([0.0, 1, 2, 3, 4][: most + 1] + [2.0, 1.0, 0.0])
    for peak, found in ((-9.0, "lowest_mbar"), (9.0, "highest_mbar")):
        pressures = np.zeros(len(volumes))
        pressures[most] = peak
        breath = Breath(volumes, pressures, most, float(most), 0.0, None)
        assert getattr(work_of(breath), found) == peak
