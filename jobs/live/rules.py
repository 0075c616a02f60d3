"""Live logging: what a chunk may hold, when a logging may end, what is known while it runs. Pure.

A chunk is a piece of the file that the logger would have written: lines of numbers, as text. All chunks joined under the
heading are that file, so that ending a logging and uploading a file are judged alike.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from itertools import pairwise
from typing import Any

from jobs.bench.methods import METHODS
from jobs.bench.methods.logs import MAX_BYTES, MAX_SAMPLES, Log, UnreadableTrace, read_log
from jobs.bench.methods.records import Record, to_record
from jobs.bench.methods.traces import MAX_TIME_S, out_of_order, wild
from jobs.bench.methods.verdicts import Instrument, Limit
from shop.workshop.rules import Refusal

LONGEST_CHUNK = 50_000  # signs: half a minute at a hundred samples a second
JUDGED_EVERY_S = 2.0
WIDTH, HEIGHT = 640, 300
USUALLY_S, SHORTLY_S, LONGEST_S = 0.5, 0.1, 2.0


class State(StrEnum):
    """Where a logging is."""

    OPEN = "open"
    ENDED = "ended"
    THROWN_AWAY = "thrown away"


@dataclass(frozen=True)
class Sent:
    """A chunk as it is kept; samples and bytes are those of the logging up to its end, `last_s` its last time."""

    n: int
    lines: bytes
    samples: int
    size: int
    last_s: float


NOTHING = Sent(0, b"", 0, 0, float("-inf"))


def file_of(columns: str, chunks: Sequence[bytes]) -> bytes:
    """The file that the logger would have written."""
    return b"".join([columns.encode(), b"\n", *chunks])


def read_chunk(columns: str, samples: str) -> tuple[bytes, Log]:
    """The lines of a chunk as they are kept, and their numbers; UnreadableTrace with every fault, the heading being line 1."""
    body = samples.replace("\r\n", "\n").replace("\r", "\n").strip(" \t\n")
    lines = body.encode(errors="replace") + b"\n"
    log = read_log(file_of(columns, [lines]), (columns,))
    faults = [*log.faults, *out_of_order(log.columns[0], log.numbers, log.word)]
    for heading, column in zip(log.names, log.columns, strict=True):
        name, _, unit = heading.rpartition("_")
        faults += wild(column, MAX_TIME_S, name, unit, log.numbers, log.word)
    if faults:
        raise UnreadableTrace([sentence for _, sentence in sorted(faults)])
    return lines, log


def next_chunk(n: int, lines: bytes, log: Log, last: Sent) -> Sent:
    """The chunk as it is kept after the last one."""
    times_s = log.columns[0]
    return Sent(n, lines, last.samples + len(times_s), last.size + len(lines), float(times_s[-1]))


def chunk_refusals(state: str, chunk: Sent, first_s: float, last: Sent) -> list[Refusal]:
    """Why a chunk cannot follow the last one."""
    if state != State.OPEN:
        return [Refusal("logging-closed", f"This logging is {state}; nothing is added to it.")]
    if chunk.n != last.n + 1:
        said = f"Chunk {last.n + 1} has not come yet: send it first, then go on in order."
        return [Refusal("chunk-missing", said, "n")]
    found = []
    if first_s <= last.last_s:
        said = f"Its first time, {first_s:g} s, is not after {last.last_s:g} s, where chunk {last.n} ends."
        found.append(Refusal("out-of-order", said, "samples"))
    if chunk.samples > MAX_SAMPLES or chunk.size > MAX_BYTES:
        said = f"A logging holds at most {MAX_SAMPLES} samples and {MAX_BYTES // 1_000_000} MB: end it."
        found.append(Refusal("logging-full", said, "samples"))
    return found


def end_refusals(
    state: str, *, had: int, chunks: int | None, went_back: bool, grew: bool = False
) -> list[Refusal]:
    """Why a logging cannot end now; `chunks` is how many the logger says that it sent, if it says so."""
    if state != State.OPEN:
        return [Refusal("logging-closed", f"This logging is {state} already.")]
    found = []
    if chunks is not None and chunks != had:
        said = f"{had} chunks have come and {chunks} were sent: send what is missing, then end it."
        found.append(Refusal("chunk-missing", said, "chunks"))
    if not had:
        found.append(Refusal("nothing-logged", "Nothing has been logged yet."))
    if went_back:
        said = "The job went back a leg since this logging began: throw it away and measure anew."
        found.append(Refusal("went-back", said))
    if grew:
        found.append(Refusal("still-coming", "Samples came in at the same moment. End it once more."))
    return found


@dataclass(frozen=True)
class Set:
    """By what a logging is judged; it stays the same while it runs."""

    method: str
    columns: str
    limits: tuple[Limit, ...]
    instrument: Instrument | None


@dataclass(frozen=True)
class Running:
    """What the samples up to some chunk say: the method's result with its record, or why there is none yet."""

    result: Any = None
    record: Record | None = None
    reasons: tuple[str, ...] = ()


def to_judge(ends_s: Sequence[float]) -> int:
    """How many chunks are judged, by the time at which each ends: up to the last one that began a new step."""
    steps = [end_s // JUDGED_EVERY_S for end_s in ends_s]
    return next((n for n in range(len(steps), 1, -1) if steps[n - 1] > steps[n - 2]), len(steps[:1]))


def ask_after_s(came: Sequence[datetime], instant: datetime) -> float:
    """How long a page waits before it asks again: until shortly after the next chunk, going by when the last ones came."""
    apart = sorted(later - earlier for earlier, later in pairwise(came))
    if not apart:
        return USUALLY_S
    due_s = (came[-1] + apart[len(apart) // 2] - instant).total_seconds() + SHORTLY_S
    return min(max(due_s, SHORTLY_S), LONGEST_S)


def running(by: Set, file: bytes) -> Running:
    """Judge what has come."""
    method = METHODS[by.method]
    assert method.logged is not None
    try:
        result = method.judge(method.logged.read(file), by.limits, by.instrument)
    except UnreadableTrace as error:
        return Running(reasons=error.reasons)
    return Running(result, to_record(result))


def drawn(by: Set, file: bytes, known: Running) -> Record | None:
    """The picture of all that has come with what is known of it; None while there is too little."""
    logged = METHODS[by.method].logged
    if known.result is None or logged is None:
        return None
    return to_record(logged.draw(logged.read(file), known.result, by.limits, width=WIDTH, height=HEIGHT))
