"""A log in few bytes, from which the same numbers come back: what was judged can be judged again.

Numbers of a fixed number of decimals become whole numbers; others keep the bits of 4 or 8 bytes. What is kept of a column
is the first or second differences, byte by byte: all lowest bytes, then all next ones, so that the quiet ones vanish.
"""

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

from jobs.bench.methods.logs import Floats, Log, UnreadableTrace

FORM = 1
MOST_PLACES = 9
FLOAT32, FLOAT64 = 32, 64
SHORT = 100  # added to the decimals of numbers that had been cut to 4 bytes
MOST_WHOLE = 2.0**53
_HEAD = struct.Struct("<BBII")  # form, length of the heading, samples, bytes once unpacked
_COLUMN = struct.Struct("<BBB")  # decimals or bits, how often differences were taken, bytes a number

Wholes = NDArray[np.int64]


def pack(log: Log) -> bytes:
    """A log without faults in few bytes."""
    heading = ",".join(log.names).encode()
    parts = [heading, *(_packed(*each) for each in zip(log.columns, log.places, strict=False))]
    body = b"".join(parts)
    # Runs and the frequency of bytes are all there is to find: searching for repeats costs time and gives nothing.
    squeeze = zlib.compressobj(9, zlib.DEFLATED, -15, 9, zlib.Z_RLE)
    head = _HEAD.pack(FORM, len(heading), log.columns.shape[1], len(body))
    return head + squeeze.compress(body) + squeeze.flush()


def unpack(packed: bytes) -> str:
    """The CSV of a packed log; reading it gives the numbers that were packed. UnreadableTrace on anything else."""
    try:
        return _unpacked(packed)
    except (struct.error, zlib.error, ValueError, IndexError) as error:
        raise UnreadableTrace(["The stored trace is damaged."]) from error


def _unpacked(packed: bytes) -> str:
    _, length, samples, size = _HEAD.unpack_from(packed)
    body = zlib.decompressobj(-15).decompress(packed[_HEAD.size :], size)
    heading, at = body[:length].decode(), length
    columns = []
    for _ in heading.split(","):
        form, differences, width = _COLUMN.unpack_from(body, at)
        at += _COLUMN.size
        planes = np.frombuffer(body, np.uint8, samples * width, at).reshape(width, samples)
        at += samples * width
        columns.append(_texts(form, _added_up(planes, differences)))
    return "\n".join([heading, *(",".join(row) for row in zip(*columns, strict=True))]) + "\n"


def _packed(column: Floats, least: int) -> bytes:
    form, wholes = _wholes(column, least)
    tries = [np.diff(wholes, n=n, prepend=np.zeros(n, dtype=np.int64)) for n in (1, 2)]
    differences = int(np.argmin([np.abs(each[2:]).sum(dtype=np.float64) for each in tries]))
    signed = tries[differences]
    zigzag = ((signed << 1) ^ (signed >> 63)).view(np.uint64)
    width = max(1, (int(zigzag.max(initial=0)).bit_length() + 7) // 8)
    planes = zigzag.astype("<u8").view(np.uint8).reshape(-1, 8)[:, :width].T
    return _COLUMN.pack(form, differences + 1, width) + planes.tobytes()


def _wholes(column: Floats, least: int) -> tuple[int, Wholes]:
    """The column as whole numbers, and what they are: so many decimals, or the bits of numbers of 4 or 8 bytes."""
    for places in range(least, MOST_PLACES + 1):
        scaled = np.rint(column * 10.0**places)
        if np.abs(scaled).max(initial=0.0) < MOST_WHOLE and np.array_equal(scaled / 10.0**places, column):
            return places, scaled.astype(np.int64)
    short = column.astype(np.float32)
    if np.array_equal(short.astype(np.float64), column):
        for places in range(MOST_PLACES + 1):
            scaled = np.rint(column * 10.0**places)
            if np.abs(scaled).max(initial=0.0) < MOST_WHOLE and np.array_equal(
                (scaled / 10.0**places).astype(np.float32), short
            ):
                return SHORT + places, scaled.astype(np.int64)
        return FLOAT32, short.view(np.int32).astype(np.int64)
    return FLOAT64, column.copy().view(np.int64)


def _added_up(planes: NDArray[np.uint8], differences: int) -> Wholes:
    wide = np.zeros((planes.shape[1], 8), dtype=np.uint8)
    wide[:, : planes.shape[0]] = planes.T
    zigzag = wide.view("<u8").ravel().astype(np.uint64)
    wholes = (zigzag >> np.uint64(1)).view(np.int64) ^ -(zigzag & np.uint64(1)).view(np.int64)
    for _ in range(differences):
        wholes = np.cumsum(wholes)
    return wholes


def _texts(form: int, wholes: Wholes) -> list[str]:
    if form == FLOAT32:
        return [repr(each) for each in wholes.astype(np.int32).view(np.float32).astype(np.float64).tolist()]
    if form >= SHORT:
        cut = (wholes / 10.0 ** (form - SHORT)).astype(np.float32)
        return [repr(each) for each in cut.astype(np.float64).tolist()]
    if form == FLOAT64:
        return [repr(each) for each in wholes.view(np.float64).tolist()]
    return [f"{each:.{form}f}" for each in (wholes / 10.0**form).tolist()]
