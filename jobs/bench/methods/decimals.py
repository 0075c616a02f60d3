"""Columns of plain decimal numbers out of text, all at once; what is not plain is left to the reader of single lines."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Wholes = NDArray[np.int64]

MOST_DIGITS = 15  # as many as a binary number keeps, so that dividing by a power of ten gives the nearest one
POWERS = 10.0 ** np.arange(MOST_DIGITS + 2)
COMMA, MINUS, DOT, ZERO, END = (ord(sign) for sign in ",-.0\n")


def read_decimals(body: bytes, columns: int) -> tuple[Floats, tuple[int, ...]] | None:
    """The numbers of lines that each end with a line break and hold so many: a row and the most decimals for each column.

    None unless every number is a minus or nothing, digits, and a point or none after the first of them, with at most 15
    digits: for those the result is exactly what `float` gives.
    """
    signs = np.frombuffer(body, np.uint8)
    ends = np.flatnonzero((signs == COMMA) | (signs == END))
    lines, rest = divmod(len(ends), columns)
    if rest or not lines or ends[-1] != len(signs) - 1:
        return None
    if (signs[ends[columns - 1 :: columns]] != END).any() or np.count_nonzero(signs == END) != lines:
        return None
    starts = np.concatenate([[0], ends[:-1] + 1])
    minus = signs[starts] == MINUS
    starts = starts + minus
    if (signs[starts] == DOT).any():
        return None
    widths = ends - starts
    padded = np.concatenate([np.zeros(MOST_DIGITS + 1, np.uint8), signs])
    values = np.empty((columns, lines))
    most = []
    for column in range(columns):
        found = _mantissas(padded, ends[column::columns], widths[column::columns])
        if found is None:
            return None
        mantissas, places = found
        values[column] = mantissas / POWERS[places]
        most.append(int(places.max()))
        values[column, minus[column::columns]] *= -1.0
    return values, tuple(most)


def _mantissas(padded: NDArray[np.uint8], ends: Wholes, widths: Wholes) -> tuple[Wholes, Wholes] | None:
    """The digits before each end as one whole number, and how many of them follow the point."""
    least, most = int(widths.min()), int(widths.max())
    if least < 1 or most > MOST_DIGITS + 1:
        return None
    runs = np.ndarray((len(padded) - most + 1,), f"V{most}", padded, strides=(1,))
    signs = runs[ends + (MOST_DIGITS + 1 - most)].view(np.uint8).reshape(-1, most).T.copy()
    for row in range(most - least):  # what stands before a short number is none of it
        signs[row, widths < most - row] = ZERO
    points = signs == DOT
    digits = signs - np.uint8(ZERO)  # a sign below zero wraps to a large number
    digits[points] = 0
    pointed = points.any(axis=0)
    if digits.max() > 9 or np.count_nonzero(points) > np.count_nonzero(pointed):
        return None
    if (widths - pointed).max() > MOST_DIGITS:
        return None
    found, places = np.zeros(len(ends), np.int64), np.zeros(len(ends), np.int64)
    after = np.zeros(len(ends), np.bool_)
    for digit, point in zip(digits, points, strict=True):
        found = np.where(point, found, found * 10 + digit)
        places += after
        after |= point
    return found, places
