"""The direction of what `python -m tests.demand.years` measures, on few workshops; and that its parts are what they say."""

from jobs.demand.rules import Terms
from tests.demand.rivals import moving_average
from tests.demand.years import SCENARIOS, Shelf, World, compare, kept, world

SPRING, SHORT_LIFE = SCENARIOS[0], SCENARIOS[6]


def test_it_works() -> None:
    """One piece a week; two weeks until it comes; four are ordered at first, then one a week."""
    made = World(8, [1] * 8)
    orders = iter([4, 0, 1, 1, 1, 1, 1, 1])

    shelf = kept(made, Terms(2, 1, 3), lambda week, shelf: next(orders))

    assert (shelf.owed, [pieces for _, pieces in shelf.on_way]) == (0, [1, 1])
    assert sum(pieces for _, pieces in shelf.lots) == 0


def test_what_is_past_its_life_is_thrown_away() -> None:
    made = World(120, [0] * 120)
    orders = iter([0] * 104 + [4] + [0] * 15)

    shelf = kept(made, Terms(2, 1, 3), lambda week, shelf: next(orders))

    assert (shelf.expired, shelf.held, shelf.lots) == (4, 12.0, [])


def test_the_same_seed_is_the_same_workshop() -> None:
    assert world(SPRING, 3, 2) == world(SPRING, 3, 2)
    assert world(SPRING, 3, 2) != world(SPRING, 4, 2)
    assert sum(world(SPRING, 3, 2).need) > 100
    assert Shelf().lots is not Shelf().lots


def test_the_moving_average_is_one() -> None:
    assert moving_average([9, 1, 3], 2) == (2.0, 1.0)
    assert moving_average([], 2) == (0.0, 0.0)


def test_it_needs_less_stock_and_wastes_less_at_equal_service() -> None:
    """On so few workshops a step of the safety factor moves the share that is served at once by nearly a hundredth."""
    found = compare(SHORT_LIFE, range(2), 2, 95, (52,))

    assert abs(found.ours.served - found.theirs.served) < 0.01
    assert found.stock < 0.8
    assert sum(found.ours.expired) < 0.6 * sum(found.theirs.expired)
