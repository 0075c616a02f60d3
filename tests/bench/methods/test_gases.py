import math
from collections.abc import Callable

import pytest

from jobs.bench.methods.gases import (
    IDEAL,
    REAL,
    OutOfRange,
    closed_vessel_bar,
    compressibility,
    free_l,
    mass_g,
    molar_mass_g_mol,
)

CORNERS = [(bar, c, oxygen) for bar in (1.0, 350.0) for c in (-15.0, 60.0) for oxygen in (21.0, 40.0)]


def test_it_works() -> None:
    assert compressibility(200, 20, 21) == pytest.approx(1.0260, abs=0.0002)
    assert free_l(201.01325, 20, 21, 12) == pytest.approx(2318, abs=0.5)
    assert mass_g(1.01325, 0, 21, 1) == pytest.approx(1.293, abs=0.001)


@pytest.mark.parametrize(("bar", "celsius", "oxygen"), [*CORNERS, (100.0, 20.0, 30.0)])
def test_it_finds_pressure_again_from_density(bar: float, celsius: float, oxygen: float) -> None:
    for law in (IDEAL, REAL):
        density = law.density(bar, celsius, oxygen)
        assert density > 0
        assert law.pressure(density, celsius, oxygen) == pytest.approx(bar, rel=1e-12)


@pytest.mark.parametrize("celsius", [-15.0, 20.0, 60.0])
@pytest.mark.parametrize("oxygen", [21.0, 25.0, 32.0, 40.0])
def test_it_holds_more_gas_at_more_pressure(celsius: float, oxygen: float) -> None:
    held = [free_l(bar, celsius, oxygen, 10) for bar in range(1, 351)]
    assert held == sorted(set(held))


def test_it_holds_no_more_than_the_free_air_at_the_surface() -> None:
    assert free_l(1.01325, 15, 32, 7) == pytest.approx(7, rel=1e-12)


def test_it_is_nearly_ideal_when_thin() -> None:
    assert compressibility(1, 20, 21) == pytest.approx(1, abs=0.0004)
    assert IDEAL.pressure(IDEAL.density(10.5, 20, 21), 21, 21) == pytest.approx(10.5 * 294.15 / 293.15)


def test_it_weighs_the_mix() -> None:
    assert molar_mass_g_mol(100) == pytest.approx(31.9988)
    assert molar_mass_g_mol(21) == pytest.approx(28.960, abs=0.001)


def test_it_comes_back_to_the_pressure_it_left() -> None:
    warm = closed_vessel_bar(200, 15, 40, 32)
    assert warm > 220
    assert closed_vessel_bar(warm, 40, 15, 32) == pytest.approx(200, rel=1e-12)


@pytest.mark.parametrize(("bar", "celsius", "oxygen"), CORNERS)
def test_it_takes_the_ends_of_its_range(bar: float, celsius: float, oxygen: float) -> None:
    assert 0.8 < compressibility(bar, celsius, oxygen) < 1.3


@pytest.mark.parametrize(
    ("bar", "celsius", "oxygen", "said"),
    [
        (200, 20, 20.9, "Oxygen is to be 21 to 40 %, it is 20.9 %."),
        (200, 20, 40.1, "Oxygen is to be 21 to 40 %"),
        (200, 20, math.nan, "Oxygen"),
        (200, -15.1, 21, "The temperature is to be -15 to 60 °C, it is -15.1 °C."),
        (200, 60.1, 21, "The temperature"),
        (200, -300, 21, "The temperature"),
        (200, math.nan, 21, "The temperature"),
        (0.99, 20, 21, "The pressure is to be 1 to 350 bar absolute, it is 0.99 bar."),
        (350.1, 20, 21, "The pressure"),
        (0, 20, 21, "The pressure"),
        (-5, 20, 21, "The pressure"),
        (math.inf, 20, 21, "The pressure"),
        (math.nan, 20, 21, "The pressure"),
    ],
)
def test_it_refuses_what_the_fit_was_not_made_for(
    bar: float, celsius: float, oxygen: float, said: str
) -> None:
    attempts: tuple[Callable[[], float], ...] = (
        lambda: compressibility(bar, celsius, oxygen),
        lambda: closed_vessel_bar(bar, celsius, 20, oxygen),
        lambda: mass_g(bar, celsius, oxygen, 12),
        lambda: free_l(bar, celsius, oxygen, 12),
    )
    for attempt in attempts:
        with pytest.raises(OutOfRange, match=said):
            attempt()


@pytest.mark.parametrize(
    ("other_c", "said"), [(60, "The pressure"), (61, "The temperature"), (-16, "The temp")]
)
def test_it_refuses_to_follow_a_vessel_out_of_its_range(other_c: float, said: str) -> None:
    with pytest.raises(OutOfRange, match=said):
        closed_vessel_bar(330, 15, other_c, 21)
