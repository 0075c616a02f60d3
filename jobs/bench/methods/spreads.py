"""Exact values with the same spread to both sides."""

from fractions import Fraction

from jobs.bench.methods.units import decimal_of
from jobs.bench.methods.worked import Value


def both(half: Fraction | None) -> Fraction | None:
    """The spread of a difference of two readings, each with its own."""
    return None if half is None else Fraction(decimal_of(half * half * 2).sqrt())


def value_of(value: Fraction, half: Fraction | None, unit: str = "percent") -> Value:
    """A value with the interval that reaches as far to both sides; without one where nothing is known of it."""
    if half is None:
        return Value(decimal_of(value), unit)
    return Value(decimal_of(value), unit, decimal_of(value - half), decimal_of(value + half))
