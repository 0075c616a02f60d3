"""The pressure trace that a logger writes, read with every fault named.

The file is text in UTF-8: a heading `t_s,p_bar` (or `p_mbar`, `p_kpa`, `p_psi`), then one sample a line, time in
seconds since the start of the record, decimal point, comma between. A byte-order mark, either line ending and blank
lines at the end are accepted. Gauge pressure is meant throughout.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from jobs.bench.methods.units import convert, quoted

Floats = NDArray[np.float64]
Fault = tuple[int, str]

MIN_SAMPLES = 30
MAX_SAMPLES = 200_000
MAX_BYTES = 10_000_000
MAX_REASONS = 20
MAX_PRESSURE_BAR = 1_000.0
MAX_TIME_S = 1_000_000.0
MIN_STEP_S = 1e-6

_UNITS = {"p_bar": "bar", "p_mbar": "mbar", "p_kpa": "kPa", "p_psi": "psi"}
HEADINGS = tuple(f"t_s,{name}" for name in _UNITS)
NUMBER = r"[ \t]*([+-]?[0-9]{1,20}(?:\.[0-9]{0,20})?(?:[eE][+-]?[0-9]{1,2})?)[ \t]*"
_ROW = re.compile(f"{NUMBER},{NUMBER}")


class UnreadableTrace(ValueError):
    """A trace that cannot be judged, with every reason (at most 20) as a sentence."""

    def __init__(self, reasons: Sequence[str]) -> None:
        """Keep the first reasons, and say how many were left out."""
        kept = list(reasons)
        if len(kept) > MAX_REASONS:
            kept = [*kept[: MAX_REASONS - 1], f"And {len(kept) - MAX_REASONS + 1} more faults."]
        self.reasons = tuple(kept)
        super().__init__(" ".join(self.reasons))


@dataclass(frozen=True, eq=False)
class Trace:
    """A sampled gauge pressure: strictly increasing times, finite pressures, and the smallest step seen in them."""

    times_s: Floats
    pressures_bar: Floats
    resolution_bar: float


def parse_csv(content: str | bytes) -> Trace:
    """Read a logger's file; UnreadableTrace with all its faults, each with its line number."""
    lines = lines_of(content)
    unit = _unit_of(lines[0])
    times, pressures, numbers, reasons = _rows(lines)
    to_bar = float(convert(Decimal(1), unit, "bar"))
    pressures_bar = np.asarray(pressures, dtype=np.float64) * to_bar
    times_s = np.asarray(times, dtype=np.float64)
    return _trace(times_s, pressures_bar, np.asarray(numbers, dtype=np.int64), "Line", reasons)


def from_samples(times_s: Sequence[float] | Floats, pressures_bar: Sequence[float] | Floats) -> Trace:
    """Build a trace from numbers already in seconds and bar; UnreadableTrace with all faults, by sample number."""
    times = np.array(times_s, dtype=np.float64)
    pressures = np.array(pressures_bar, dtype=np.float64)
    if times.ndim != 1 or times.shape != pressures.shape:
        raise UnreadableTrace(["There must be one pressure for each time."])
    if len(times) > MAX_SAMPLES:
        raise UnreadableTrace([_too_many(len(times))])
    return _trace(times, pressures, np.arange(1, len(times) + 1), "Sample", [])


def lines_of(content: str | bytes) -> list[str]:
    """The lines of a file; UnreadableTrace if it is too large, empty or no text in UTF-8."""
    if len(content) > MAX_BYTES:
        raise UnreadableTrace([f"The file is larger than {MAX_BYTES // 1_000_000} MB."])
    text = _decoded(content) if isinstance(content, bytes) else content
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").rstrip(" \t\n")
    if not text:
        raise UnreadableTrace(["The file is empty."])
    if text.count("\n") > MAX_SAMPLES:
        raise UnreadableTrace([_too_many(text.count("\n"))])
    return text.split("\n")


def _decoded(content: bytes) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise UnreadableTrace([f"Line {line} is not text in UTF-8."]) from None


def _unit_of(heading: str) -> str:
    names = [name.strip().lower() for name in heading.split(",")]
    if len(names) != 2 or names[0] != "t_s" or names[1] not in _UNITS:
        raise UnreadableTrace([f"Line 1 must be one of {', '.join(HEADINGS)}; it is {quoted(heading)}."])
    return _UNITS[names[1]]


def _rows(lines: list[str]) -> tuple[list[float], list[float], list[int], list[Fault]]:
    times, pressures, numbers = [], [], []
    reasons: list[Fault] = []
    for number, line in enumerate(lines[1:], start=2):
        row = _ROW.fullmatch(line)
        if row is None:
            reasons.append((number, why_not(number, line, 2)))
            continue
        times.append(float(row[1]))
        pressures.append(float(row[2]))
        numbers.append(number)
    return times, pressures, numbers, reasons


def why_not(number: int, line: str, wanted: int) -> str:
    """What is wrong with a line that should hold so many numbers."""
    if not line.strip():
        return f"Line {number} is empty."
    columns = line.split(",")
    if len(columns) != wanted:
        return f"Line {number} has {len(columns)} columns, not {wanted}: {quoted(line)}."
    bad = next((column for column in columns if not re.fullmatch(NUMBER, column)), line)
    return f"Line {number}: {quoted(bad.strip())} is not a number."


def _trace(
    times_s: Floats, pressures_bar: Floats, numbers: NDArray[np.int64], word: str, faults: list[Fault]
) -> Trace:
    found = sorted([*faults, *_faults(times_s, pressures_bar, numbers, word)], key=lambda fault: fault[0])
    if found:
        raise UnreadableTrace([sentence for _, sentence in found])
    times_s.setflags(write=False)
    pressures_bar.setflags(write=False)
    steps = np.diff(np.unique(pressures_bar))
    # Converted prints of one reading differ in their last binary digits; that is no step of the sensor.
    steps = steps[steps > 1e-9]
    return Trace(times_s, pressures_bar, float(steps.min()) if len(steps) else 0.0)


def _faults(times_s: Floats, pressures_bar: Floats, numbers: NDArray[np.int64], word: str) -> list[Fault]:
    faults: list[Fault] = []
    if len(times_s) < MIN_SAMPLES:
        faults.append((0, f"There are {len(times_s)} readable samples; at least {MIN_SAMPLES} are needed."))
    faults.extend(wild(times_s, MAX_TIME_S, "time", "s", numbers, word))
    faults.extend(wild(pressures_bar, MAX_PRESSURE_BAR, "pressure", "bar", numbers, word))
    return [*faults, *out_of_order(times_s, numbers, word)]


def wild(
    values: Floats, most: float, name: str, unit: str, numbers: NDArray[np.int64], word: str
) -> list[Fault]:
    """A fault for each value that is no number or further from zero than `most`."""
    # Written as "not within", so that a value that is no number at all is caught too.
    rows = np.flatnonzero(~(np.abs(values) <= most))
    return [
        (number, f"{word} {number}: {name} {value:g} {unit} is beyond reason.")
        for number, value in zip(numbers[rows].tolist(), values[rows].tolist(), strict=True)
    ]


def out_of_order(times_s: Floats, numbers: NDArray[np.int64], word: str) -> list[Fault]:
    """A fault for each time that is not after the one before; a time beyond reason has its own."""
    with np.errstate(invalid="ignore"):
        late_enough = np.diff(times_s) >= MIN_STEP_S
    rows = np.flatnonzero(~late_enough & (np.abs(times_s[1:]) <= MAX_TIME_S))
    pairs = zip(numbers[rows + 1].tolist(), times_s[rows + 1].tolist(), times_s[rows].tolist(), strict=True)
    return [
        (number, f"{word} {number}: time {time_s:g} s is not after {before_s:g} s.")
        for number, time_s, before_s in pairs
    ]


def _too_many(samples: int) -> str:
    return f"There are {samples} samples; at most {MAX_SAMPLES} are accepted. Log more slowly or in parts."
