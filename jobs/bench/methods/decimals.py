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
    found = _mantissas(signs, ends, ends - starts - minus)
    if found is None:
        return None
    mantissas, places = found
    values = mantissas / POWERS[places].astype(np.float64)
    most = places.reshape(-1, columns).max(axis=0)
    return np.where(minus, -values, values).reshape(-1, columns).T.copy(), tuple(most.tolist())


def _mantissas(signs: NDArray[np.uint8], ends: Wholes, widths: Wholes) -> tuple[Wholes, Wholes] | None:
    """The digits before each end as one whole number, and how many of them follow the point."""
    if widths.min() < 1 or widths.max() > MOST_DIGITS + 1:
        return None
    mantissas = np.zeros(len(ends), dtype=np.int64)
    places = np.full(len(ends), -1)
    for back in range(int(widths.max())):
        live = widths > back
        sign = signs[np.maximum(ends - 1 - back, 0)]
        digit = sign - np.uint8(ZERO)  # a sign below zero wraps to a large number
        dot = live & (sign == DOT)
        number = live & (digit < 10)
        if (live & ~dot & ~number).any() or (dot & (places >= 0)).any():
            return None
        mantissas += np.where(number, digit, 0) * POWERS[back - (places >= 0)]
        places[dot] = back
    digits = widths - (places >= 0)
    if (places == widths - 1).any() or digits.max() > MOST_DIGITS:
        return None
    return mantissas, np.maximum(places, 0)
