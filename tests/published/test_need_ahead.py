"""What is ordered, and what it is measured against, held to figures from outside. The source stands beside each check.

"own" means that no publication was found: inputs made up for this, the answer computed with a library.
"""

from statistics import NormalDist

import numpy as np
import pytest

from jobs.ahead.rules import Need, Others, poisson
from jobs.demand.rules import REVIEW, Terms, least, propose
from tests.demand.rivals import croston, sba, up_to

SERIES = [0, 0, 3, 0, 0, 0, 2, 0, 4, 0, 0, 1]


def test_croston_on_a_series_of_our_own() -> None:
    """Own series; equations from memory; the values were given alike by statsforecast 2.1.1 and by code of its own."""
    size, interval = croston(SERIES, 0.1)

    assert (size, interval) == pytest.approx((2.809, 2.991))
    assert size / interval == pytest.approx(0.9391507857, abs=5e-11)


def test_syntetos_and_boylan_on_the_same_series() -> None:
    """The factor 1 - a/2 as two forecast libraries' manuals have it; value as above, its tenth digit one too high."""
    assert sba(SERIES, 0.1) == pytest.approx(0.8921932465, abs=1e-10)


def test_croston_does_not_see_a_series_end() -> None:
    """Own property: periods without need after the last one change nothing."""
    assert croston([*SERIES, 0, 0, 0], 0.1) == croston(SERIES, 0.1)
    assert sba([0, 0], 0.1) == 0.0


@pytest.mark.parametrize(
    ("mean", "spread", "ratio", "quantity"),
    [
        (
            200,
            80,
            8 / 12,
            234.458,
        ),  # a textbook's solution read elsewhere; by its table 235.2, exactly 234.458
        (1000, 200, 40 / 50, 1168.32),  # the problem read elsewhere, the answer computed
    ],
)
def test_newsvendor_with_a_normal_need(mean: float, spread: float, ratio: float, quantity: float) -> None:
    assert up_to(mean, spread, 1, NormalDist().inv_cdf(ratio)) == pytest.approx(quantity, abs=0.005)


@pytest.mark.parametrize(
    ("mean", "ratio", "pieces"),
    [(5.0, 2 / 3, 6), (2.0, 15 / 17, 4), (1.2, 0.75, 2)],
)
def test_newsvendor_with_a_counted_need(mean: float, ratio: float, pieces: int) -> None:
    """Own: F(5) .61596 and F(6) .76218; F(3) .85712 and F(4) .94735; F(1) .66263 and F(2) .87949."""
    assert least(poisson(mean, 1, 60), ratio) == pieces


@pytest.mark.parametrize(
    ("level", "pieces"),
    [(0.857, 3), (0.8572, 4), (0.947, 4), (0.9474, 5), (0.983, 5), (0.9835, 6), (0.995, 6)],
)
def test_base_stock_by_cycle_service(level: float, pieces: int) -> None:
    """Own, Poisson(2): F(3) .857123, F(4) .947347, F(5) .983436, F(6) .995466. Cycle service is F(S).

    The share of pieces served at once is F(S - 1), one piece more for the same figure: ours is the first.
    """
    assert least(poisson(2.0, 1, 60), level) == pieces


def test_what_is_ordered_covers_review_and_lead_time() -> None:
    """Own: review 2 and lead 1 weeks, 10 pieces a week with spread 4, 95 %: 41.396, so 42. By the lead time alone it is 16.6."""
    factor = NormalDist().inv_cdf(0.95)

    assert up_to(10, 4, 2 + 1, factor) == pytest.approx(41.396, abs=0.001)
    assert up_to(10, 4, 1, factor) == pytest.approx(16.579, abs=0.001)


@pytest.mark.parametrize(("lead", "level", "pieces"), [(1, 95, 5), (1, 98, 5), (0, 95, 3), (1, 90, 4)])
def test_a_proposal_covers_them_too(lead: int, level: int, pieces: int) -> None:
    """Own: one piece a week, looked at each week. Poisson(2) as above; Poisson(1): F(2) .919699, F(3) .981012 (scipy)."""
    assert Terms(lead, 1).until == lead + REVIEW == lead + 1
    assert propose(Need(0, (), (Others(1.0, 1),)), [], Terms(lead, 1), level).up_to == pieces


def test_what_expires_and_what_is_short() -> None:
    """Own: Poisson(3) in the life that is left, 5 on hand: 2.134621 expire, 0.134621 are short; the difference is 5 - 3."""
    found = poisson(3.0, 1, 60)
    pieces = np.arange(61)

    expired = float(found @ np.clip(5 - pieces, 0, None))
    short = float(found @ np.clip(pieces - 5, 0, None))

    assert (expired, short) == pytest.approx((2.134621, 0.134621), abs=5e-7)
    assert expired - short == pytest.approx(5 - 3)


def test_no_more_is_ordered_than_is_used_in_life() -> None:
    """The constraint as a public solver's sample has it (what is left is at most the need over the life).

    Own figures: need of a piece a week, 90 %; in 9 weeks P(at least 5) = .945, P(at least 6) = .884 (scipy), so five are used.
    """
    found = propose(Need(6, (), (Others(1.0, 1),)), [], Terms(1, 5, 8), 90)
    later = propose(Need(0, (), (Others(1.0, 1),)), [], Terms(1, 10, 8), 90)

    assert found.used_in_life is not None
    assert found.pieces <= found.used_in_life
    assert (later.wanted, later.used_in_life, later.pieces) == (4, 5, 0)
