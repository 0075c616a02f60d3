"""The rules on cylinders: their edges and what they refuse. Published figures stand in tests/published/."""

from collections.abc import Callable
from decimal import Decimal
from itertools import product

import pytest

from jobs.bench.methods import cylinder_rules as rules
from jobs.bench.methods.cylinder_rules import Thread

D = Decimal


def plus(**changed: object) -> list[str]:
    earns: dict[str, object] = {
        "specification": "3AA",
        "elastic": D("56.0"),
        "rejection": D("66.3"),
        "disc_burst": D(4000),
        "test_pressure": D(4000),
        "dry_gas": True,
        "corroded": False,
    }
    return rules.plus_refusals(**(earns | changed))  # type: ignore[arg-type]  # parts of a table


def test_it_works() -> None:
    assert plus() == []


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"specification": "3AL"}, "A 3AL cylinder is never marked with a plus."),
        ({"specification": "4B"}, "A 4B cylinder is never marked with a plus."),
        ({"elastic": D("66.31")}, "Elastic expansion 66.31 is above 66.3."),
        ({"rejection": None}, "Its rejection elastic expansion is not known."),
        ({"disc_burst": D(4001)}, "The disc bursts at 4001, above the test pressure 4000."),
        ({"disc_burst": None}, "The burst pressure of the disc and the marked test pressure must both be known."),
        ({"dry_gas": False}, "The gas must be non-flammable, non-poisonous and non-liquefied."),
        ({"corroded": True}, "It is corroded too much."),
    ],
)  # fmt: skip
def test_it_needs_every_condition_for_a_plus(changed: dict[str, object], said: str) -> None:
    assert plus(**changed) == [said]


def test_it_tells_all_that_keeps_a_plus_away() -> None:
    assert len(plus(specification="3AL", rejection=None, disc_burst=None, dry_gas=False, corroded=True)) == 5


@pytest.mark.parametrize("specification", ["3A", "3AA", "3AX", "3AAX", "3T"])
def test_it_lets_five_specifications_bear_a_plus(specification: str) -> None:
    assert plus(specification=specification, elastic=D("66.3")) == []


@pytest.mark.parametrize(
    "refused",
    [
        lambda bad: rules.wall_stress(bad, D(8), D(7)),
        lambda bad: rules.wall_stress(D(1), bad, D(7)),
        lambda bad: rules.wall_stress(D(1), D(8), bad),
        lambda bad: rules.inside_diameter(bad, D(1), D(8)),
        lambda bad: rules.inside_diameter(D(9), bad, D(8)),
        lambda bad: rules.inside_diameter(D(9), D(1), bad),
        lambda bad: rules.allowed_stress_3al(bad, D(38000)),
        lambda bad: rules.allowed_stress_3al(D(35000), bad),
        lambda bad: rules.rejection_elastic(bad, D(1), D(1), D(1)),
        lambda bad: rules.rejection_elastic(D(1), bad, D(1), D(1)),
        lambda bad: rules.rejection_elastic(D(1), D(1), bad, D(1)),
        lambda bad: rules.rejection_elastic(D(1), D(1), D(1), bad),
        lambda bad: rules.average_stress(bad, D(1), D(1), D(1)),
        lambda bad: rules.average_stress(D(1), bad, D(1), D(1)),
        lambda bad: rules.average_stress(D(1), D(1), bad, D(1)),
        lambda bad: rules.average_stress(D(1), D(1), D(1), bad),
        lambda bad: rules.least_test_pressure("3AA", bad),
        lambda bad: rules.plus_fill("3AA", bad),
        lambda bad: rules.dig_depth_limit_in(bad),
        lambda bad: rules.neck_crack_6351(bad),
        lambda bad: rules.disc_refusal(bad, D(4000)),
        lambda bad: rules.disc_refusal(D(4000), bad),
    ],
)
@pytest.mark.parametrize("bad", [D(0), D(-1), D("NaN"), D("Infinity")])
def test_it_refuses_measures_that_no_cylinder_has(refused: Callable[[Decimal], object], bad: Decimal) -> None:
    with pytest.raises(ValueError, match="is no measure of a cylinder"):
        refused(bad)


@pytest.mark.parametrize("inside", [D(8), D(9)])
def test_it_refuses_a_cylinder_without_a_wall(inside: Decimal) -> None:
    with pytest.raises(ValueError, match="must be less than the outside"):
        rules.wall_stress(D(4000), D(8), inside)


@pytest.mark.parametrize("stress", [D(5200), D(1)])
def test_it_knows_that_some_stresses_cannot_be_had(stress: Decimal) -> None:
    with pytest.raises(ValueError, match="No wall is thick enough"):
        rules.inside_diameter(stress, D(4000), D(8))


def test_it_takes_the_lesser_of_two_stresses() -> None:
    assert rules.allowed_stress_3al(D(30000), D(40000)) == 24000
    assert rules.allowed_stress_3al(D(40000), D(40000)) == 26800


def test_it_fills_no_cylinder_to_a_plus_that_never_bears_one() -> None:
    with pytest.raises(ValueError, match="A 3AL cylinder is never marked with a plus"):
        rules.plus_fill("3AL", D(3000))


def test_it_has_no_test_pressure_for_other_specifications() -> None:
    with pytest.raises(ValueError, match="The test pressure of 4B is not 5/3"):
        rules.least_test_pressure("4B", D(240))


@pytest.mark.parametrize(("neck", "valve"), list(product(Thread, Thread)))
def test_it_lets_only_equal_threads_together(neck: Thread, valve: Thread) -> None:
    said = rules.thread_refusal(neck, valve)
    assert (said == "") == (neck is valve)
    assert said == "" or (f"neck is {neck.value} " in said and f"valve is {valve.value}:" in said)


@pytest.mark.parametrize(
    ("neck", "valve", "fatal"),
    [
        (Thread.NPSM_3_4, Thread.M25X2, True),
        (Thread.BSP_3_4, Thread.M25X2, True),
        (Thread.M25X2, Thread.NPSM_3_4, False),
        (Thread.NGT_1_2, Thread.M25X2, False),
        (Thread.BSP_3_4, Thread.NPSM_3_4, False),
    ],
)
def test_it_names_the_mismatch_that_kills(neck: Thread, valve: Thread, fatal: bool) -> None:
    assert rules.thread_refusal(neck, valve).endswith("has been fatal.") is fatal


@pytest.mark.parametrize("declared", [None, D(4000)])
def test_it_asks_for_what_a_disc_is_held_against(declared: Decimal | None) -> None:
    assert "must both be known" in rules.disc_refusal(None, declared)
    assert "must both be known" in rules.disc_refusal(declared, None)
