"""Where a record is cut into breaths, what closes, and what is refused."""

import numpy as np
import pytest

from jobs.bench.methods.breaths import Breath, turning_points
from jobs.bench.methods.loops import from_flows, from_volumes
from jobs.bench.methods.traces import UnreadableTrace
from jobs.bench.methods.work import work_of
from tests.bench.methods.breathing import POLYGON_L, POLYGON_MBAR, angles, resisting, sinus, timed


def refused(volumes_l: list[float]) -> list[str]:
    with pytest.raises(UnreadableTrace) as caught:
        from_volumes(volumes_l, [0.0] * len(volumes_l))
    return list(caught.value.reasons)


def totals(breaths: tuple[Breath, ...]) -> list[float]:
    return [work_of(breath).total for breath in breaths]


def test_it_works() -> None:
    angle = angles(100, 3)
    loop = sinus(angle, resisting(angle))
    assert [len(breath.volumes_l) for breath in loop.breaths] == [101, 101, 101]
    assert [breath.most for breath in loop.breaths] == [50, 50, 50]
    assert loop.left_out == 0
    for breath in loop.breaths:
        assert (breath.volumes_l[0], breath.volumes_l[-1]) == (0.0, 0.0)
        assert breath.volumes_l[50] == breath.tidal_l == pytest.approx(2.5)


@pytest.mark.parametrize(
    ("volumes", "turns"),
    [
        ([0, 1, 0], [0, 1, 2]),
        ([1, 0, 1], [0, 1, 2]),
        ([0.5, 1, 0, 0.5], [0, 1, 2, 3]),
        ([0, 1, 0.95, 1.2, 0.3, 0.35, 0], [0, 3, 6]),
        ([0, 1, 0.89, 1.2, 0], [0, 1, 2, 3, 4]),
        ([0, 0.02, 0, 1, 1, 0, 0], [0, 3, 5]),
        ([0.05, 0, 1, 0], [1, 2, 3]),
        ([0.95, 1, 0, 0.05], [1, 2]),
        ([0, 0.1, 0, 0.1], []),
        ([0.0], []),
    ],
)
def test_it_turns_only_when_it_goes_back_a_tenth_of_a_litre(volumes: list[float], turns: list[int]) -> None:
    assert turning_points(volumes) == turns


@pytest.mark.parametrize("begin", range(8))
def test_it_takes_one_closed_breath_begun_anywhere(begin: int) -> None:
    volumes = [*POLYGON_L[begin:-1], *POLYGON_L[: begin + 1]]
    pressures = [*POLYGON_MBAR[begin:-1], *POLYGON_MBAR[: begin + 1]]
    loop = from_volumes(volumes, pressures)
    assert (len(loop.breaths), loop.left_out) == (1, 0)
    assert loop.breaths[0].volumes_l.tolist() == POLYGON_L
    assert loop.breaths[0].pressures_mbar.tolist() == POLYGON_MBAR


@pytest.mark.parametrize("phase", [30, 80])
def test_it_keeps_the_gap_of_a_breath_begun_anywhere(phase: float) -> None:
    angle = angles(100, 1, phase)
    drift_l = 0.1 * (angle - angle[0]) / (2 * np.pi)
    breath = from_volumes(1.25 * (1 - np.cos(angle)) + drift_l, resisting(angle)).breaths[0]
    assert breath.gap_l == pytest.approx(0.1, abs=2e-3)
    assert breath.tidal_l == pytest.approx(2.5, abs=2e-3)
    assert work_of(breath).total == pytest.approx(np.pi / 2, rel=2e-3)


def test_it_knows_the_time_of_a_breath_begun_anywhere() -> None:
    angle = angles(100, 1, 30)
    breath = timed(angle, resisting(angle)).breaths[0]
    assert breath.period_s == pytest.approx(2.4)


@pytest.mark.parametrize(
    ("breaths", "phase", "whole"), [(3.5, 0, 3), (3, 25, 2), (2.6, 60, 2), (1.5, 0, 1), (2, 50, 1)]
)
def test_it_leaves_out_parts_of_breaths_and_counts_them(breaths: float, phase: float, whole: int) -> None:
    angle = angles(100, breaths, phase)
    loop = sinus(angle, resisting(angle))
    assert len(loop.breaths) == whole
    assert loop.left_out == round(100 * breaths) - 100 * whole
    for breath in loop.breaths:
        assert breath.volumes_l[0] == pytest.approx(0.0, abs=1e-12)
        assert breath.tidal_l == pytest.approx(2.5)


@pytest.mark.parametrize(
    ("volumes", "reason"),
    [
        (
            [0, 0.5, 1, 1.5, 2, 1.5, 1, 0.5, 0.3],
            "There is no whole breath between two least volumes, and the record ends 0.3 L from where it began, 15.0% of its "
            "range; at most 5% is closed.",
        ),
        (
            [1, 1.5, 2, 1.5, 1, 0, 1, 2, 1.5, 1],
            "There is no whole breath between two least volumes: record at least two.",
        ),
        ([0, 1, 2, 1, 0, 1, 2, 1, 0], "Breath 1 has 4 samples; at least 8 are needed."),
        ([*[0, 1, 2, 3, 2, 1, 0.5] * 2, 0], "Breath 1 has 7 samples; at least 8 are needed."),
        (
            [2, 1, 0, 0.5, 1, 1.5, 2, 1.5, 1, 0.5, 0.2, 1, 2],
            "Breath 1 ends 0.2 L from the volume where it began, 10.5% of its tidal volume; at most 5% is closed. Look at the "
            "zero of the flow or volume sensor.",
        ),
        ([0, 0.05, 0.1, 0.15, 0.2, 0.15, 0.1, 0.05, 0], "Breath 1 moves 0.2 L; 0.25 to 20 L can be meant."),
        ([0, 5, 10, 15, 21, 15, 10, 5, 0], "Breath 1 moves 21 L; 0.25 to 20 L can be meant."),
    ],
)
def test_it_refuses_what_is_no_closed_breath(volumes: list[float], reason: str) -> None:
    assert refused(volumes)[0] == reason


def test_it_takes_a_breath_of_the_least_and_of_the_most_volume_and_points() -> None:
    shape = np.array([0, 1, 2, 3, 4, 3, 2, 1, 0]) / 4
    for tidal_l in (0.25, 20.0):
        assert from_volumes(shape * tidal_l, np.zeros(9)).breaths[0].tidal_l == tidal_l


def test_it_refuses_more_breaths_than_anybody_records() -> None:
    one = [0, 1, 2, 3, 4, 3, 2, 1]
    assert len(from_volumes([*one * 500, 0], np.zeros(4001)).breaths) == 500
    assert refused([*one * 501, 0]) == ["There are 501 breaths; at most 500 are accepted."]


@pytest.mark.parametrize(("rate_min", "said"), [(0.4, "150 s"), (150.0, "0.4 s")])
def test_it_refuses_a_breath_that_takes_an_absurd_time(rate_min: float, said: str) -> None:
    angle = angles(40, 1)
    with pytest.raises(UnreadableTrace, match=f"Breath 1 takes {said}; 0.5 to 120 s can be meant."):
        timed(angle, resisting(angle), rate_min=rate_min)


def test_it_names_every_breath_that_does_not_close() -> None:
    angle = angles(100, 4)
    with pytest.raises(UnreadableTrace) as caught:
        timed(angle, resisting(angle), zero_l_s=0.1)
    assert [reason[:9] for reason in caught.value.reasons] == ["Breath 1 ", "Breath 2 "]


@pytest.mark.parametrize("gap", [-0.049, -0.02, 0.02, 0.049])
def test_it_closes_a_small_gap_and_keeps_its_size(gap: float) -> None:
    angle = angles(400, 1)
    tilted_l = 1.25 * (1 - np.cos(angle)) + 2.5 * gap * angle / (2 * np.pi)
    breath = from_volumes(tilted_l, resisting(angle)).breaths[0]
    assert breath.gap_l == pytest.approx(2.5 * gap, rel=2e-3)
    assert (breath.volumes_l[0], breath.volumes_l[-1]) == (0.0, 0.0)
    assert breath.volumes_l.max() == pytest.approx(breath.tidal_l)
    # What the drift does to the two parts has opposite signs; the sum is hardly touched.
    assert work_of(breath).total == pytest.approx(np.pi / 2, rel=1e-3)
    assert work_of(breath).inhaling == pytest.approx(np.pi / 4, rel=abs(gap) / 2)


def test_it_is_exact_when_a_sensor_reads_one_direction_too_high() -> None:
    angle = angles(400, 1)
    true_l = 1.25 * (1 - np.cos(angle))
    seen_l = np.where(angle <= np.pi, true_l * 1.03, true_l + 2.5 * 0.03)
    breath = from_volumes(seen_l, resisting(angle)).breaths[0]
    exact = work_of(from_volumes(true_l, resisting(angle)).breaths[0])
    assert work_of(breath).inhaling == pytest.approx(exact.inhaling, rel=1e-9)
    assert work_of(breath).exhaling == pytest.approx(exact.exhaling, rel=1e-9)


def test_it_is_right_for_samples_that_are_not_evenly_spread() -> None:
    rng = np.random.default_rng(5)
    angle = np.cumsum(rng.uniform(0.1, 2, 6000))
    angle = np.concatenate([[0.0], angle * (6 * np.pi / angle[-1])])
    even = totals(timed(angles(2000, 3), resisting(angles(2000, 3))).breaths)
    for loop in (sinus(angle, resisting(angle)), timed(angle, resisting(angle))):
        assert totals(loop.breaths) == pytest.approx(even, rel=2e-4)
        assert even == pytest.approx([np.pi / 2] * 3, rel=1e-5)
    bunched = np.concatenate([np.linspace(0, 1, 2000)[:-1], np.linspace(1, 2 * np.pi, 150)])
    assert totals(sinus(bunched, resisting(bunched)).breaths) == pytest.approx([np.pi / 2], rel=5e-4)


def test_it_finds_the_same_breaths_in_noise() -> None:
    rng = np.random.default_rng(7)
    angle = angles(500, 5)
    flows = np.pi * 2.5 / 2.4 * np.sin(angle) + rng.normal(0, 0.05, len(angle))
    loop = from_flows(angle / (2 * np.pi) * 2.4, flows, resisting(angle) + rng.normal(0, 0.1, len(angle)))
    assert len(loop.breaths) == 5
    assert np.mean(totals(loop.breaths)) == pytest.approx(np.pi / 2, rel=5e-3)
