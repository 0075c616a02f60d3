"""Columns of plain decimal numbers out of text, all at once; what is not plain is left to the reader of single lines."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Wholes = NDArray[np.int64]

MOST_DIGITS = 15  # as many as a binary number keeps, so that dividing by a power of ten gives the nearest one
POWERS = 10 ** np.arange(MOST_DIGITS + 2, dtype=np.int64)
COMMA, MINUS, DOT, ZERO, END = (ord(sign) for sign in ",-.0\n")


def read_decimals(body: bytes, columns: int) -> tuple[Floats, tuple[int, ...]] | None:
    """The numbers of lines that each end with a line break and hold so many: a row and the most decimals for each column.

    None unless every number is a minus or nothing, digits, and a point or none after the first of them, with at most 15
    digits: for those the result is exactly what `float` gives.
    """
    lines = body.count(b"\n")
    if not lines or body.count(b",") != lines * (columns - 1):
        return None
    signs = np.frombuffer(body, np.uint8)
    ends = np.flatnonzero((signs == COMMA) | (signs == END))
    asked = np.array([COMMA] * (columns - 1) + [END])
    if ends[-1] != len(signs) - 1 or not (signs[ends].reshape(-1, columns) == asked).all():
        return None
    starts = np.concatenate([[0], ends[:-1] + 1])
    minus = signs[starts] == MINUS
    widths = ends - starts - minus
    padded = np.concatenate([np.zeros(MOST_DIGITS + 1, np.uint8), signs])
    values = np.empty((columns, lines))
    most = []
    for column in range(columns):
        found = _mantissas(padded, ends[column::columns], widths[column::columns])
        if found is None:
            return None
        mantissas, places = found
        values[column] = mantissas / POWERS[places].astype(np.float64)
        most.append(int(places.max()))
        values[column, minus[column::columns]] *= -1.0
    return values, tuple(most)


def _mantissas(padded: NDArray[np.uint8], ends: Wholes, widths: Wholes) -> tuple[Wholes, Wholes] | None:
    """The digits before each end as one whole number, and how many of them follow the point."""
    least, most = int(widths.min()), int(widths.max())
    if least < 1 or most > MOST_DIGITS + 1:
        return None
    found = np.zeros(len(ends), dtype=np.int64)
    places = np.full(len(ends), -1)
    for back in range(most):
        sign = padded[ends + (MOST_DIGITS - back)]
        if back >= least:
            sign = np.where(widths > back, sign, np.uint8(ZERO))
        digit = sign - np.uint8(ZERO)  # a sign below zero wraps to a large number
        rest = np.flatnonzero(digit > 9)
        if len(rest):
            if (sign[rest] != DOT).any() or (places[rest] >= 0).any():
                return None
            places[rest] = back
            digit[rest] = 0
        found += digit * POWERS[back]
    pointed = places >= 0
    if (places == widths - 1).any() or (widths - pointed).max() > MOST_DIGITS:
        return None
    places = np.maximum(places, 0)
    # The point took the place of a digit: what stands before it moves down by one.
    before, after = np.divmod(found, POWERS[places])
    return np.where(pointed, before // 10 * POWERS[places] + after, found), places
