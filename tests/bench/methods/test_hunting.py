"""When a swing is called hunting: its share, its chance, its size and how many there are."""

import numpy as np
import pytest

from jobs.bench.methods.hunting import find_hunting, quick
from jobs.bench.methods.traces import Floats

TIMES = np.arange(180.0)


def swing(times: float, amplitude_bar: float) -> Floats:
    """So many swings in 180 s, one sample a second."""
    return np.asarray(amplitude_bar * np.sin(2 * np.pi * times * TIMES / 180.0))


@pytest.mark.parametrize("times", [3, 10, 60])
def test_it_works(times: float) -> None:
    found = find_hunting(TIMES, swing(times, 0.05))
    assert found is not None
    assert found.frequency_hz == pytest.approx(times / 180.0, abs=1e-3)
    assert found.amplitude_bar == pytest.approx(0.05, rel=0.03)


def test_two_swings_are_drift() -> None:
    assert find_hunting(TIMES, swing(2, 0.05)) is None


@pytest.mark.parametrize(("amplitude_bar", "hunts"), [(0.0195, False), (0.0205, True)])
def test_a_small_swing_is_none(amplitude_bar: float, hunts: bool) -> None:
    assert (find_hunting(TIMES, swing(20, amplitude_bar)) is not None) is hunts


def test_nothing_swings_in_a_straight_line() -> None:
    assert find_hunting(TIMES, np.zeros(180)) is None


@pytest.mark.parametrize("seed", range(10))
def test_the_strongest_line_of_a_few_noisy_samples_is_chance(seed: int) -> None:
    # Of 15 lines the strongest has a tenth of the power more often than not.
    scatter = np.random.default_rng(seed).normal(0.0, 0.1, 30)
    assert find_hunting(np.arange(30.0), scatter) is None


def test_by_chance_less_often_than_once_in_a_thousand() -> None:
    # Of 90 lines: 90 * (1 - g)^89 is 0.001 at g = 0.1203, the share of a swing of 0.05 bar among noise of 0.0956 bar.
    scatter = np.random.default_rng(2).permuted(np.repeat([0.1, -0.1], 90))
    shares = [_share(swing(20, each) + scatter) for each in (0.03, 0.06)]
    assert shares[0] < 0.1203 < shares[1]
    assert find_hunting(TIMES, swing(20, 0.03) + scatter) is None
    assert find_hunting(TIMES, swing(20, 0.06) + scatter) is not None


@pytest.mark.parametrize(("amplitude_bar", "hunts"), [(0.042, False), (0.052, True)])
def test_a_tenth_of_all_power_is_asked_of_a_long_record(amplitude_bar: float, hunts: bool) -> None:
    # amplitude^2 / 2 of that and 0.1^2 of noise: 0.081 and 0.119.
    times_s = np.arange(5000.0)
    scatter = np.random.default_rng(1).normal(0.0, 0.1, 5000)
    swung = amplitude_bar * np.sin(2 * np.pi * times_s / 20.0)
    assert (find_hunting(times_s, swung + scatter) is not None) is hunts


def _share(residuals_bar: Floats) -> float:
    power = np.abs(np.fft.rfft(residuals_bar)[1:]) ** 2
    return float(power.max() / power.sum())


@pytest.mark.parametrize(
    ("count", "found"),
    [
        (1, 1),
        (2, 2),
        (7, 6),
        (11, 10),
        (45, 45),
        (46, 45),
        (97, 96),
        (128, 128),
        (243, 243),
        (625, 625),
        (1023, 1000),
    ],
)
def test_it_takes_as_many_samples_as_are_transformed_quickly(count: int, found: int) -> None:
    """Numbers without a prime factor above 5; counted by hand."""
    assert quick(count) == found
