"""Exact conversion of the few units a bench uses.

Factors are exact fractions, because a pound-force per square inch is no finite decimal number. Water columns are the
*conventional* ones (water of 1000 kg/m3 under standard gravity), never at 4 degC or 60 degF. Torque is a kind of its own:
it shares a dimension with energy and must never print as joules. So is the work of breathing: 1 J/L is the same number as
1 kPa averaged over the volume, but nothing turns one into the other. Gauge and absolute pressure are different
quantities, not different units, so nothing here turns one into the other either.

Sources: NIST SP 811 appendix B.8 (the conventional water columns); international yard and pound agreement of 1959
(inch, foot, pound) and standard gravity 9.80665 m/s2, both exact by definition; a millilitre is a cubic centimetre by the
resolution of the CGPM of 1964 on the litre, named from memory.
"""

import re
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction

SIGNIFICANT_DIGITS = 28
MAX_DIGITS = 12

_NUMBER = re.compile(rf"[+-]?[0-9]{{1,{MAX_DIGITS}}}(\.[0-9]{{1,{MAX_DIGITS}}})?")

_INCH_M = Fraction("0.0254")
_GRAVITY_M_S2 = Fraction("9.80665")
_POUND_FORCE_N = Fraction("0.45359237") * _GRAVITY_M_S2
_WATER_KG_M3 = 1000


class UnitError(ValueError):
    """A reading that is not a plain number, an unknown unit, or two units of different kinds."""


@dataclass(frozen=True)
class Unit:
    """One unit: its kind, its size in the kind's base unit, and how it is printed."""

    kind: str
    size: Fraction
    symbol: str


_BAR_PA = Fraction(100_000)
_PSI_PA = _POUND_FORCE_N / _INCH_M**2

UNITS: dict[str, Unit] = {
    "Pa": Unit("pressure", Fraction(1), "Pa"),
    "kPa": Unit("pressure", Fraction(1_000), "kPa"),
    "MPa": Unit("pressure", Fraction(1_000_000), "MPa"),
    "bar": Unit("pressure", _BAR_PA, "bar"),
    "mbar": Unit("pressure", Fraction(100), "mbar"),
    "psi": Unit("pressure", _PSI_PA, "psi"),
    "inH2O": Unit("pressure", _WATER_KG_M3 * _GRAVITY_M_S2 * _INCH_M, "inH2O"),
    "cmH2O": Unit("pressure", _WATER_KG_M3 * _GRAVITY_M_S2 / 100, "cmH2O"),
    "bar_min": Unit("pressure rate", _BAR_PA, "bar/min"),
    "psi_min": Unit("pressure rate", _PSI_PA, "psi/min"),
    "N_m": Unit("torque", Fraction(1), "N·m"),
    "lbf_in": Unit("torque", _POUND_FORCE_N * _INCH_M, "lbf·in"),
    "lbf_ft": Unit("torque", _POUND_FORCE_N * _INCH_M * 12, "lbf·ft"),
    "J_l": Unit("work by volume", Fraction(1), "J/L"),
    "l_min": Unit("flow", Fraction(1), "L/min"),
    "ml_min": Unit("flow", Fraction(1, 1000), "mL/min"),
    "ft3_min": Unit("flow", (_INCH_M * 12) ** 3 * 1000, "ft³/min"),
    "g_min": Unit("mass rate", Fraction(1), "g/min"),
    "per_min": Unit("frequency", Fraction(1), "/min"),
    "ml": Unit("volume", Fraction(1), "mL"),
    "cc": Unit("volume", Fraction(1), "cc"),
    "l": Unit("volume", Fraction(1000), "L"),
    "mm": Unit("length", Fraction(1, 1000), "mm"),
    "m": Unit("length", Fraction(1), "m"),
    "ft": Unit("length", _INCH_M * 12, "ft"),
    "s": Unit("time", Fraction(1), "s"),
    "min": Unit("time", Fraction(60), "min"),
    "percent": Unit("share", Fraction(1), "%"),
    "ppm": Unit("share", Fraction(1, 10_000), "ppm"),
    "mg_m3": Unit("mass by volume", Fraction(1), "mg/m³"),
    "degC": Unit("temperature", Fraction(1), "°C"),
}


def unit(name: str) -> Unit:
    """Look up a unit by its name; UnitError names the known ones."""
    if name not in UNITS:
        raise UnitError(f"{quoted(name)} is not a known unit; known are {', '.join(UNITS)}.")
    return UNITS[name]


def same_kind(name: str) -> list[str]:
    """The names of all units of a unit's kind, so that a reading in any of them can be converted."""
    return [other for other in UNITS if UNITS[other].kind == unit(name).kind]


def symbol(name: str) -> str:
    """How a unit is printed, for example `bar/min` for `bar_min`."""
    return unit(name).symbol


def parse_reading(text: str) -> Decimal:
    """Read a typed number exactly as written; UnitError on anything but up to 12 digits, a point, up to 12 digits.

    A comma is refused, because 1,234 means two different things to two technicians.
    """
    stripped = text.strip(" \t")
    if "," in stripped:
        raise UnitError(f"{quoted(stripped)}: write the decimal sign as a point, for example 9.5.")
    if not _NUMBER.fullmatch(stripped):
        raise UnitError(f"{quoted(stripped)} is not a plain number such as 9.5 or -12.")
    return Decimal(stripped)


def convert(reading: str | Decimal, source: str, target: str) -> Decimal:
    """Convert a reading between two units of one kind, correctly rounded to 28 significant digits.

    Text is read by `parse_reading`. UnitError on nonsense, an unknown unit, or units of different kinds.
    """
    value = parse_reading(reading) if isinstance(reading, str) else _checked(reading)
    old, new = unit(source), unit(target)
    if old.kind != new.kind:
        raise UnitError(f"{source} is a {old.kind} and {target} a {new.kind}; they cannot be converted.")
    return decimal_of(Fraction(value) * old.size / new.size)


def decimal_of(exact: Fraction) -> Decimal:
    """An exact figure correctly rounded to 28 significant digits."""
    with localcontext(prec=SIGNIFICANT_DIGITS):
        return Decimal(exact.numerator) / Decimal(exact.denominator)


def _checked(value: Decimal) -> Decimal:
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int):
        raise UnitError("The reading is not a finite number.")
    # A wild exponent would make the exact fraction below as long as the exponent says.
    if not -80 <= exponent <= MAX_DIGITS or value.adjusted() >= MAX_DIGITS:
        raise UnitError(
            f"The reading has more than {MAX_DIGITS} digits before its point, or too many after it."
        )
    return value


def quoted(text: str) -> str:
    """Somebody's text in quotes for a sentence, cut to 40 characters."""
    return repr(text if len(text) <= 40 else text[:40] + "…")
