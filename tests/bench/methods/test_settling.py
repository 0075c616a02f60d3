"""Where a purge ends and where the pressure has locked up, on staircases: a running median leaves those as they are."""

import numpy as np
import pytest

from jobs.bench.methods.settling import Settling, find_settling
from jobs.bench.methods.traces import Floats

PURGE, PLATEAU = 5.0, 9.5


def stairs(*runs: tuple[float, int]) -> Floats:
    """Levels, each for so many samples; two samples a second."""
    return np.repeat([level for level, _ in runs], [count for _, count in runs])


def found(pressures: Floats, noise_bar: float = 0.0, step_bar: float = 0.0) -> Settling:
    settling = find_settling(np.arange(len(pressures)) / 2.0, pressures, noise_bar, step_bar)
    assert settling is not None
    return settling


# The first sample of each level is a multiple of ten.
RISING = ((PURGE, 10), (9.40, 10), (9.43, 10), (9.44, 10), (9.46, 10), (9.477, 10), (PLATEAU, 140))


def test_it_works() -> None:
    settling = found(stairs((PURGE, 10), (PLATEAU, 190)))
    assert (settling.plateau.slope, settling.plateau.intercept, settling.band_bar) == (0.0, PLATEAU, 0.05)
    assert (settling.released, settling.settled, settling.drops) == (9, 10, 1)
    assert (settling.steady, settling.left_again, settling.ends_low) == (True, False, False)


@pytest.mark.parametrize(
    ("step_bar", "early", "settled", "late"),
    [
        # The band of 0.05 bar ends between 9.44 and 9.46; half a step is 0, 0.015, and 0.025 at the most.
        (0.0, 40, 40, 40),
        (0.03, 30, 40, 50),
        (0.05, 20, 40, 50),
        (0.06, 20, 40, 50),
    ],
)
def test_half_a_step_makes_the_band_wider_and_narrower(
    step_bar: float, early: int, settled: int, late: int
) -> None:
    settling = found(stairs(*RISING), step_bar=step_bar)
    assert (settling.settled_early, settling.settled, settling.settled_late) == (early, settled, late)


def test_twice_the_scatter_makes_it_wider_and_narrower_too() -> None:
    # Half of all readings are 0.004 bar off either way: 2 * 1.4826 * 0.004 is 0.0119, so 0.0619 and 0.0381.
    pressures = stairs(*RISING)
    pressures[60:] += np.resize([0.004, -0.004], 140)
    settling = found(pressures)
    assert (settling.settled_early, settling.settled, settling.settled_late) == (30, 40, 50)


def test_four_times_the_noise_is_the_band() -> None:
    settling = found(stairs(*RISING), noise_bar=0.0165)
    assert settling.band_bar == pytest.approx(0.066)
    assert settling.settled == 30


@pytest.mark.parametrize(("level", "drops"), [(9.34, 1), (9.36, 0)])
def test_three_bands_make_a_purge(level: float, drops: int) -> None:
    pressures = stairs((PLATEAU, 20), (level, 20), (PLATEAU, 160))
    settling = find_settling(np.arange(200) / 2.0, pressures, 0.0, 0.0)
    assert (0 if settling is None else settling.drops) == drops


@pytest.mark.parametrize(
    ("runs", "drops", "released"),
    [
        (((PLATEAU, 20), (PURGE, 10), (PLATEAU, 30), (PURGE, 10), (PLATEAU, 130)), 2, 69),
        # A record that begins low begins before the supply was opened.
        (((PURGE, 30), (PLATEAU, 30), (PURGE, 10), (PLATEAU, 130)), 1, 69),
        (((PURGE, 30), (PLATEAU, 170)), 1, 29),
        # A recovery that falls back before it is in its band is one drop, released where it rises most steeply.
        (((PLATEAU, 20), (PURGE, 10), (9.4, 30), (PURGE, 10), (PLATEAU, 130)), 1, 69),
        (((PLATEAU, 20), (PURGE, 10), (6.0, 10), (9.0, 10), (PLATEAU, 150)), 1, 39),
        (((PLATEAU, 20), (PURGE, 10), (8.0, 10), (9.0, 10), (PLATEAU, 150)), 1, 29),
    ],
)
def test_it_counts_purges_and_finds_the_last_release(
    runs: tuple[tuple[float, int], ...], drops: int, released: int
) -> None:
    settling = found(stairs(*runs))
    assert (settling.drops, settling.released) == (drops, released)


@pytest.mark.parametrize(("still", "left"), [(9, False), (10, True)])
def test_more_than_five_seconds_in_the_band_are_left_again(still: int, left: bool) -> None:
    # From the last sample of the purge to the first outside are half a second more than the samples between.
    settling = found(stairs((PURGE, 10), (PLATEAU, still), (9.7, 6), (PLATEAU, 184 - still)))
    assert settling.left_again is left
    assert settling.settled == 16 + still


@pytest.mark.parametrize(("after", "steady"), [(10, False), (11, True)])
def test_five_seconds_in_the_band_are_steady(after: int, steady: bool) -> None:
    assert found(stairs((PURGE, 10), (9.7, 10), (PLATEAU, after))).steady is steady


def test_it_is_not_settled_while_it_is_outside_at_the_end() -> None:
    settling = found(stairs((PURGE, 10), (PLATEAU, 180), (9.7, 10)))
    assert (settling.settled, settling.settled_late, settling.steady) == (200, 199, False)


@pytest.mark.parametrize(("last", "low"), [((PURGE, 10), True), ((9.4, 10), False)])
def test_a_record_may_end_in_a_purge(last: tuple[float, int], low: bool) -> None:
    assert found(stairs((PURGE, 10), (PLATEAU, 180), last)).ends_low is low


def test_it_follows_a_plateau_that_rises() -> None:
    ramp = 0.01 * np.arange(200) / 2.0
    settling = found(stairs((PURGE, 10), (PLATEAU, 190)) + ramp)
    assert settling.plateau.slope == pytest.approx(0.01)
    assert settling.plateau.intercept == pytest.approx(PLATEAU)
    assert settling.settled == 10
