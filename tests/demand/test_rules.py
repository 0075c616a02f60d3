"""What is proposed for a need, and the picture of it."""

from datetime import date

import numpy as np
import pytest

from jobs.ahead.rules import Coming, Need, Others
from jobs.demand.rules import (
    Pieces,
    Terms,
    Week,
    drawn_down,
    least,
    picture,
    propose,
    surely_used,
    weeks_ahead,
)

DAY = date(2026, 11, 27)
TENTHS = np.array([0.1, 0.2, 0.3, 0.4])


@pytest.mark.parametrize(("level", "pieces"), [(0.1, 0), (0.11, 1), (0.3, 1), (0.6, 2), (0.95, 3)])
def test_what_is_enough(level: float, pieces: int) -> None:
    assert least(TENTHS, level) == pieces


@pytest.mark.parametrize(("level", "pieces"), [(0.95, 0), (0.9, 1), (0.71, 1), (0.7, 2), (0.4, 3)])
def test_what_is_surely_used(level: float, pieces: int) -> None:
    assert surely_used(TENTHS, level) == pieces


@pytest.mark.parametrize(
    ("stock", "need", "left", "expired"),
    [
        ([Pieces(5)], [1, 1, 1], [4, 3, 2], [0, 0, 0]),
        ([Pieces(5, 0, 2), Pieces(4)], [1, 1, 1, 1], [8, 7, 3, 2], [0, 0, 3, 3]),
        ([Pieces(4), Pieces(5, 0, 2)], [4, 3, 0], [5, 2, 2], [0, 0, 0]),  # the first to expire goes first
        ([Pieces(5, 0, 0)], [1, 1], [0, 0], [5, 5]),  # past its life within this week
        ([Pieces(3, 2)], [1, 1, 0], [0, 0, 1], [0, 0, 0]),  # what is short waits for what arrives
        ([], [1, 0], [0, 0], [0, 0]),
    ],
)
def test_how_need_draws_on_the_stock(
    stock: list[Pieces], need: list[float], left: list[float], expired: list[float]
) -> None:
    found = drawn_down(stock, np.array(need, dtype=float))

    assert (found.left.tolist(), found.expired.tolist()) == (left, expired)


@pytest.mark.parametrize(
    ("waiting", "stock", "terms", "wanted", "packs"),
    [
        (3, [], Terms(2, 5), 3, 1),
        (6, [], Terms(2, 5), 6, 2),
        (3, [Pieces(3)], Terms(2, 5), 0, 0),
        (3, [Pieces(2)], Terms(2, 1), 1, 1),
        (3, [Pieces(9, 0, 0)], Terms(2, 5), 3, 1),  # it expires first
        (3, [Pieces(5, 2)], Terms(2, 5), 0, 0),  # it arrives before an order of the next time would
        (3, [Pieces(5, 3)], Terms(2, 5), 3, 1),  # it does not
        (3, [], Terms(2, 5, 100), 3, 0),  # of a pack of five only three will be used in life
        (3, [], Terms(2, 3, 100), 3, 1),
        (7, [], Terms(2, 3, 100), 7, 2),  # two packs are used, a third is not
    ],
)
def test_what_is_proposed(waiting: int, stock: list[Pieces], terms: Terms, wanted: int, packs: int) -> None:
    found = propose(Need(waiting), stock, terms, 95)

    assert (found.wanted, found.packs, found.pieces) == (wanted, packs, packs * terms.pack)
    assert found.capped is (packs * terms.pack < wanted)


@pytest.mark.parametrize(("level", "up_to"), [(90, 5), (95, 6), (98, 7)])
def test_a_higher_level_orders_more(level: int, up_to: int) -> None:
    """A Poisson need of three pieces in three weeks: F(5) .916, F(6) .966, F(7) .988."""
    found = propose(Need(0, (), (Others(1.0, 1),)), [], Terms(2, 1), level)

    assert (found.weeks, found.lead, found.expected, found.up_to) == (3, 2, 3.0, up_to)


def test_it_covers_the_time_until_the_next_order_is_here() -> None:
    """Somebody who comes in the third week counts though an order of today is here after two."""
    third = np.zeros(52)
    third[2] = 1.0

    assert propose(Need(0, (Coming(third, 4),)), [], Terms(2, 1), 95).pieces == 4
    assert propose(Need(0, (Coming(third, 4),)), [], Terms(1, 1), 95).pieces == 0


def test_new_pieces_are_used_after_what_is_there() -> None:
    """A piece a week is surely needed, and again next year; what is here is used before what is new."""
    weekly = [np.zeros(52) for _ in range(52)]
    for week, chances in enumerate(weekly):
        chances[week] = 1.0
    need = Need(0, tuple(Coming(chances, 1) for chances in weekly))

    fresh = propose(need, [Pieces(4)], Terms(4, 20, 10), 95)
    behind = propose(need, [Pieces(4), Pieces(9, 6)], Terms(4, 5, 10), 95)
    expiring = propose(need, [Pieces(10, 0, 3)], Terms(4, 5, 60), 95)

    # Fourteen weeks until new pieces expire: ten of them are used, of a pack of twenty too few.
    assert (fresh.up_to, fresh.usable, fresh.wanted, fresh.used_in_life, fresh.packs) == (5, 4, 1, 10, 0)
    # What arrives in the meantime is used first: one new piece is left to be used.
    assert (behind.usable, behind.wanted, behind.used_in_life, behind.packs) == (4, 1, 1, 0)
    # Three of ten are used before they expire.
    assert (expiring.usable, expiring.expires, expiring.wanted, expiring.packs) == (3, 7.0, 2, 1)


def test_the_weeks_and_their_picture() -> None:
    need = Need(2, (), (Others(0.5, 2),))
    weeks = weeks_ahead(need, [Pieces(6), Pieces(10, 4)], DAY)

    assert [len(weeks), weeks[4].begins, weeks[4].arrives] == [26, date(2026, 12, 25), 10]
    assert [each.need for each in weeks[:3]] == [3.0, 1.0, 1.0]
    assert [each.left for each in weeks[:6]] == [3.0, 2.0, 1.0, 0.0, 9.0, 8.0]

    drawn = picture(weeks, 5, "piece")
    assert drawn.sentence == (
        "Over 26 weeks 28.0 pieces are expected to be needed and 10 pieces arrive; none is expected to be left in life "
        "in the week of 18 Dec 2026."
    )
    assert drawn.line.count("M") == 26
    assert drawn.mark.count("M") == 1
    assert drawn.band is not None
    assert float(drawn.band.width) == pytest.approx((900 - 54 - 30) * 5 / 26, abs=0.1)
    assert picture(weeks, None, "piece").band is None


def test_a_picture_of_nothing() -> None:
    drawn = picture([Week(DAY, 0.0, 0, 0.0)], None, "piece")

    assert (drawn.line, drawn.mark) == ("", "")
    assert "nan" not in drawn.fit + drawn.grid
