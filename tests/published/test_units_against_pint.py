"""Conversion factors against two independent sources.

NIST Special Publication 811 (2008), appendix B.8, as transcribed in the comments of a public units library; the printed
digits of the two torque factors are from memory. Pint 0.25.3, which keeps its own table of definitions.
"""

from decimal import Decimal
from itertools import permutations
from typing import Any

import pint
import pytest

from jobs.bench.methods.units import UNITS, convert

# Each as printed: seven significant digits, or all of them where the factor is exact.
SP_811 = [
    ("psi", "Pa", "6894.757"),
    ("inH2O", "Pa", "249.0889"),
    ("cmH2O", "Pa", "98.0665"),
    ("bar", "Pa", "100000"),
    ("mbar", "Pa", "100"),
    ("lbf_in", "N_m", "0.1129848"),
    ("lbf_ft", "N_m", "1.355818"),
    ("ft3_min", "l_min", "28.31685"),
]

PINT = {
    "Pa": "pascal",
    "kPa": "kilopascal",
    "MPa": "megapascal",
    "bar": "bar",
    "mbar": "millibar",
    "psi": "psi",
    "inH2O": "inH2O",
    "cmH2O": "cmH2O",
    "bar_min": "bar/minute",
    "psi_min": "psi/minute",
    "N_m": "newton*meter",
    "lbf_in": "pound_force*inch",
    "lbf_ft": "pound_force*foot",
    "J_l": "joule/liter",
    "l_min": "liter/minute",
    "ml_min": "milliliter/minute",
    "ft3_min": "foot**3/minute",
    "g_min": "gram/minute",
    "per_min": "1/minute",
    "ml": "milliliter",
    "l": "liter",
    "mm": "millimeter",
    "m": "meter",
    "ft": "foot",
    "s": "second",
    "min": "minute",
    "cc": "cubic_centimeter",
    "percent": "percent",
    "ppm": "ppm",
    "mg_m3": "milligram/meter**3",
    "degC": "kelvin",  # differences alone: no other scale is in the table
}
REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry()
PAIRS = [(old, new) for old, new in permutations(UNITS, 2) if UNITS[old].kind == UNITS[new].kind]

# Worked beforehand from the exact definitions, by other means than this table, and rounded as they stand.
SPOT_VALUES = [
    ("135", "psi", "bar", "9.307922"),
    ("140", "psi", "bar", "9.652660"),
    ("145", "psi", "bar", "9.997398"),
    ("9.5", "bar", "psi", "137.785851"),
    ("25", "mbar", "inH2O", "10.036577"),
    ("25", "mbar", "cmH2O", "25.492905"),
    ("5", "psi", "bar", "0.344738"),
    ("0.02", "bar", "psi", "0.290075"),
    ("3000", "psi", "bar", "206.842719"),
    ("10", "N_m", "lbf_in", "88.507458"),
    ("10", "N_m", "lbf_ft", "7.375621"),
    ("20", "lbf_ft", "N_m", "27.116359"),
    ("40", "lbf_in", "N_m", "4.519393"),
    ("80", "ft3_min", "l_min", "2265.347727"),
    ("125", "psi", "bar", "8.618"),
    ("150", "psi", "bar", "10.342"),
    ("1", "inH2O", "mbar", "2.4908891"),
    ("1", "inH2O", "psi", "0.0361273"),
    ("3", "inH2O", "mbar", "7.4726673"),
    ("232", "bar", "psi", "3364.8755"),
    ("300", "bar", "psi", "4351.1321"),
    ("230", "bar", "psi", "3335.868"),
    # The definitions written out: psi from pound, gravity and inch, the water columns at 1000 kg/m3, foot = 0.3048 m.
    ("1", "psi", "Pa", "6894.757293168361"),
    ("1", "inH2O", "Pa", "249.08891"),
    ("1", "cmH2O", "Pa", "98.0665"),
    ("1", "lbf_in", "N_m", "0.1129848290276167"),
    ("1", "lbf_ft", "N_m", "1.3558179483314004"),
    ("1", "ft3_min", "l_min", "28.316846592"),
    ("1", "ft", "m", "0.3048"),
]


def test_it_works() -> None:
    assert set(PINT) == set(UNITS)
    assert len(PAIRS) == 86


@pytest.mark.parametrize(("unit", "base", "printed"), SP_811)
def test_it_prints_as_in_sp_811(unit: str, base: str, printed: str) -> None:
    expected = Decimal(printed)
    assert convert("1", unit, base).quantize(expected) == expected


@pytest.mark.parametrize(("reading", "source", "target", "expected"), SPOT_VALUES)
def test_it_agrees_with_values_worked_beforehand(
    reading: str, source: str, target: str, expected: str
) -> None:
    assert convert(reading, source, target).quantize(Decimal(expected)) == Decimal(expected)


@pytest.mark.parametrize(("old", "new"), PAIRS)
def test_it_agrees_with_pint(old: str, new: str) -> None:
    expected = REGISTRY.Quantity(1.0, PINT[old]).to(PINT[new]).magnitude
    assert float(convert("1", old, new)) == pytest.approx(expected, rel=1e-14)


def test_it_agrees_that_kinds_do_not_mix() -> None:
    kinds = {name: REGISTRY.Quantity(1.0, PINT[name]).dimensionality for name in UNITS}
    # Work by volume has the dimension of pressure and is kept apart from it on purpose.
    for old, new in permutations(set(UNITS) - {"J_l"}, 2):
        assert (UNITS[old].kind == UNITS[new].kind) == (kinds[old] == kinds[new])


def test_it_agrees_that_a_joule_a_litre_is_the_number_of_a_kilopascal() -> None:
    assert REGISTRY.Quantity(1.0, PINT["J_l"]).to("kilopascal").magnitude == pytest.approx(1.0, rel=1e-14)
    assert REGISTRY.Quantity(1.37, PINT["J_l"]).to("millibar").magnitude == pytest.approx(13.7, rel=1e-14)
