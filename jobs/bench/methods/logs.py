"""The file that a logger wrote, in any of three forms, as columns of numbers with every fault named.

CSV: text in UTF-8, a heading that names the columns with their units, then one sample a line, decimal point, comma
between; a byte-order mark, any line ending and blank lines at the end are accepted. JSON: an object with a list of
numbers under each of the same names, `{"t_s": [0, 0.5], "p_bar": [5.01, 5.02]}`. Float32: the heading and the word
`float32` on one line that ends with a line feed, `t_s,p_bar float32`, then the samples, each as many little-endian
numbers of four bytes as there are columns.
"""

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

import numpy as np
from numpy.typing import NDArray

from jobs.bench.methods.decimals import read_decimals
from jobs.bench.methods.units import quoted

Floats = NDArray[np.float64]
Fault = tuple[int, str]

MAX_SAMPLES = 200_000
MAX_BYTES = 10_000_000
MAX_REASONS = 20
NUMBER = r"[ \t]*([+-]?[0-9]{1,20}(?:\.[0-9]{0,20})?(?:[eE][+-]?[0-9]{1,3})?)[ \t]*"
BINARY = "float32"
# Stands for a fault when as many of its kind are worded as can be shown.
UNWORDED: Fault = (2**31, "")


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
class Log:
    """Columns by name, one row each, with the number of each sample as `word` counts it, and what could not be read.

    `places` are the most decimals written in each column, 0 where nothing is known of them.
    """

    names: tuple[str, ...]
    columns: Floats
    numbers: NDArray[np.int64]
    word: str = "Line"
    faults: tuple[Fault, ...] = ()
    places: tuple[int, ...] = (0, 0, 0)


def read_log(content: str | bytes, headings: Sequence[str]) -> Log:
    """Read a logger's file under one of the headings; UnreadableTrace if it is none, too large or empty."""
    raw = content.encode("utf-8", "surrogatepass") if isinstance(content, str) else content
    if len(raw) > MAX_BYTES:
        raise UnreadableTrace([f"The file is larger than {MAX_BYTES // 1_000_000} MB."])
    head, _, rest = raw.partition(b"\n")
    if head.rstrip().lower().endswith(b" " + BINARY.encode()):
        return _from_binary(head, rest, headings)
    body = raw.removeprefix(b"\xef\xbb\xbf")
    if b"\r" in body:
        body = body.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    body = body.rstrip(b" \t\n")
    if not body:
        raise UnreadableTrace(["The file is empty."])
    if body[:1] == b"{":
        return _from_json(body, headings)
    head, _, rest = body.partition(b"\n")
    samples = int(np.count_nonzero(np.frombuffer(body, np.uint8) == ord("\n")))
    if samples > MAX_SAMPLES:
        too_many(samples)
    heading = _names(head.decode("utf-8", "replace"))
    plain = read_decimals(rest + b"\n", len(heading)) if ",".join(heading) in headings else None
    if plain is not None:
        columns, places = plain
        return Log(heading, columns, np.arange(2, columns.shape[1] + 2), places=places)
    return read_lines(_decoded(body).split("\n"), headings)


def read_lines(lines: list[str], headings: Sequence[str]) -> Log:
    """Read CSV line by line, which finds the words for every fault."""
    names = _known(lines[0], headings)
    row = re.compile(",".join([NUMBER] * len(names)))
    values: list[float] = []
    numbers: list[int] = []
    faults: list[Fault] = []
    for number, line in enumerate(lines[1:], start=2):
        found = row.fullmatch(line)
        if found is None:
            few = len(faults) < MAX_REASONS
            faults.append((number, _why_not(number, line, len(names))) if few else UNWORDED)
            continue
        values.extend(map(float, found.groups()))
        numbers.append(number)
    columns = np.array(values, dtype=np.float64).reshape(-1, len(names)).T.copy()
    return Log(names, columns, np.asarray(numbers, dtype=np.int64), faults=tuple(faults))


def _names(heading: str) -> tuple[str, ...]:
    return tuple(name.strip().lower() for name in heading.split(",", 8))


def _known(heading: str, headings: Sequence[str]) -> tuple[str, ...]:
    names = _names(heading)
    if ",".join(names) not in headings:
        said = f"Line 1 must be one of {'; '.join(headings)}; it is {quoted(heading)}."
        raise UnreadableTrace([said])
    return names


def _decoded(body: bytes) -> str:
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as error:
        line = body[: error.start].count(b"\n") + 1
        raise UnreadableTrace([f"Line {line} is not text in UTF-8."]) from None


def _why_not(number: int, line: str, wanted: int) -> str:
    """What is wrong with a line that should hold so many numbers."""
    if not line.strip():
        return f"Line {number} is empty."
    if line.count(",") + 1 != wanted:
        return f"Line {number} has {line.count(',') + 1} columns, not {wanted}: {quoted(line)}."
    bad = next((column for column in line.split(",") if not re.fullmatch(NUMBER, column)), line)
    return f"Line {number}: {quoted(bad.strip())} is not a number."


def _from_binary(head: bytes, rest: bytes, headings: Sequence[str]) -> Log:
    words = head.decode("utf-8", "replace").strip()
    names = _known(words[: -len(BINARY)].strip(), headings)
    if len(rest) % (4 * len(names)):
        said = f"After line 1 there are {len(rest)} bytes, which is no whole number of samples of {4 * len(names)} bytes."
        raise UnreadableTrace([said])
    samples = len(rest) // (4 * len(names))
    if samples > MAX_SAMPLES:
        too_many(samples)
    columns = np.frombuffer(rest, "<f4").reshape(-1, len(names)).T.astype(np.float64)
    return Log(names, columns, np.arange(1, samples + 1), "Sample")


def _from_json(body: bytes, headings: Sequence[str]) -> Log:
    if body.count(b",") > 3 * MAX_SAMPLES or body.count(b"[") + body.count(b"{") > 9:
        raise UnreadableTrace([f"The JSON is to hold one list of at most {MAX_SAMPLES} numbers a column."])
    try:
        sent = json.loads(body, parse_int=float, parse_constant=_no_constant, object_pairs_hook=_once)
    except ValueError as error:
        raise UnreadableTrace([f"This is no JSON: {quoted(str(error))}."]) from None
    names = _known(",".join(str(name) for name in _by_heading(sent, headings)), headings)
    lists: list[list[Any]] = [sent[name] if isinstance(sent[name], list) else [] for name in names]
    if len({len(each) for each in lists}) != 1:
        raise UnreadableTrace(["There must be one number in each list for each sample."])
    if len(lists[0]) > MAX_SAMPLES:
        too_many(len(lists[0]))
    faults = [
        (number, f"Sample {number}: {quoted(str(value))} under {name} is not a number.")
        for name, values in zip(names, lists, strict=True)
        if set(map(type, values)) - {float}
        for number, value in enumerate(values, start=1)
        if type(value) is not float
    ]
    if faults:
        raise UnreadableTrace([sentence for _, sentence in sorted(faults)])
    return Log(names, np.array(lists), np.arange(1, len(lists[0]) + 1), "Sample")


def _by_heading(sent: dict[str, Any], headings: Sequence[str]) -> list[str]:
    """The names in the order of the heading that has them all, or as they were sent."""
    same = [heading.split(",") for heading in headings if set(heading.split(",")) == set(sent)]
    return same[0] if same else list(sent)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if len(dict(pairs)) != len(pairs):
        raise ValueError("a name stands twice")
    return dict(pairs)


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def too_many(samples: int) -> NoReturn:
    """Refuse so many samples."""
    said = f"There are {samples} samples; at most {MAX_SAMPLES} are accepted. Log more slowly or in parts."
    raise UnreadableTrace([said])
