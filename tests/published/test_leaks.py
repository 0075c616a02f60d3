"""Leaks against figures computed beforehand, and against exact and independent arithmetic.

No published allowance for a leak was found, so nothing here compares with one.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from scipy.constants import R, zero_Celsius

from jobs.bench.methods.leaks import COMPUTATION as DECAY
from jobs.bench.methods.leaks import MASS_LOSS, PRESSURE_LOSS, SURFACE_LOSS
from jobs.bench.methods.verdicts import Instrument, Limit, Verdict
from jobs.bench.methods.worked import judge

STILL = {"minutes": "1", "start_temperature": "20", "end_temperature": "20", "volume": "0.1", "oxygen": "21"}


def losses(**given: str) -> dict[str, float]:
    """What is lost, as floats."""
    found = judge(DECAY, STILL | given).values
    return {name: float(value.value) for name, value in found.items()}


def test_it_works() -> None:
    """Computed: 0.02 bar/min in 0.1 L is 1.974 mL/min at the surface."""
    found = losses(start_pressure="9.5", end_pressure="9.48")
    assert found[PRESSURE_LOSS] == pytest.approx(0.02, abs=1e-9)
    assert found[SURFACE_LOSS] * 1000 == pytest.approx(1.974, abs=0.0005)
    assert found[SURFACE_LOSS] == pytest.approx(float(Fraction(2, 1000) / Fraction("1.01325")), abs=1e-9)


def test_it_takes_warming_out() -> None:
    """Computed: at 10.5 bar absolute and 293.15 K one degree alone is 0.03582 bar."""
    found = losses(
        start_pressure="9.5", end_pressure="9.5", end_temperature="21", atmosphere="1", minutes="1"
    )
    assert found[PRESSURE_LOSS] == pytest.approx(0.03582, abs=5e-6)


def test_it_weighs_like_the_gas_law() -> None:
    """SciPy's constants; the molar mass of air, 28.96 g/mol, from memory."""
    found = losses(start_pressure="9.5", end_pressure="9.3")
    moles = 0.2e5 * 0.1e-3 / (R * (20 + zero_Celsius))
    assert found[MASS_LOSS] == pytest.approx(moles * 28.96, rel=1e-4)


def test_it_calls_cooling_no_leak() -> None:
    """Computed with CoolProp 8.0.0: 12 L from 200 bar at 20 degC to 198.0 bar at 18 degC lose 0.0127 % of their mass."""
    given = STILL | {
        "start_pressure": "200",
        "end_pressure": "198.0",
        "end_temperature": "18",
        "volume": "12",
        "minutes": "10",
        "temperature_step": "0.1",
    }
    found = losses(**given)
    held_g = 12 * 232.7
    assert found[MASS_LOSS] * 10 / held_g * 100 == pytest.approx(0.0127, abs=0.0005)
    # An ideal gas would make a leak of 0.6 bar of it.
    ideal = Decimal("201.01325") * Decimal("291.15") / Decimal("293.15") - Decimal("1.01325") - 198
    assert float(ideal) == pytest.approx(0.63, abs=0.01)
    limit = Limit(PRESSURE_LOSS, "bar_min", high=Decimal("0.03"))
    assert judge(DECAY, given, [limit], Instrument(resolution=Decimal("0.1"))).verdict == Verdict.WITHIN


def test_it_finds_a_tight_cylinder_tight() -> None:
    """Computed with CoolProp 8.0.0: 200 bar at 24 degC show 194.2267 at 18 degC; the ideal gas would show 195.9412."""
    found = losses(
        start_pressure="200", end_pressure="194.2267", start_temperature="24", end_temperature="18"
    )
    assert found[PRESSURE_LOSS] == pytest.approx(0, abs=0.003)
    found = losses(
        start_pressure="200", end_pressure="195.9412", start_temperature="24", end_temperature="18"
    )
    assert found[PRESSURE_LOSS] == pytest.approx(-1.7145, abs=0.003)


def test_it_counts_free_air() -> None:
    """Computed with CoolProp 8.0.0: 12 L at 200 bar hold 2318 L of free air at 20 degC; what stays at the end is 12 L."""
    found = losses(start_pressure="200", end_pressure="0", volume="12")
    assert found[SURFACE_LOSS] == pytest.approx(2318 - 12, abs=0.5)
