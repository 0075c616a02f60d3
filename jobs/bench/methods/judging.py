"""What was measured, judged by one method: an attempt is recorded and computed again by this one way."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from jobs.bench.methods import Method, finding, typed_reading
from jobs.bench.methods.logs import read_log
from jobs.bench.methods.packed import pack
from jobs.bench.methods.records import Record, to_record
from jobs.bench.methods.verdicts import Instrument, Limit

NOTHING_MEASURED: Record = {"limits": [], "decisions": {}, "figures": {}, "warnings": []}
ABSENT = "absent"


@dataclass(frozen=True)
class Given:
    """What was measured or found: a reading with its unit, a logger's trace, a finding, or figures by key, as typed."""

    reading: str = ""
    unit: str = ""
    trace: str | bytes = ""
    finding: str = ""
    figures: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Difference:
    """One value of a record that another computation has otherwise, both as JSON."""

    what: str
    was: str
    would_be: str


def judge(
    method: Method, given: Given, limits: Sequence[Limit], facts: Instrument | None
) -> tuple[Record, Record | None, bytes]:
    """The record of a result, that of its picture and the packed trace, ready to be stored; raises what the method raises."""
    match method.takes:
        case "finding":
            return to_record(finding.judge(given.finding)) | NOTHING_MEASURED, None, b""
        case "trace":
            assert method.logged is not None
            log = read_log(given.trace, method.logged.headings)
            trace = method.logged.read(log)
            result = method.judge(trace, limits, facts)
            picture = method.logged.draw(trace, result, limits, width=640, height=300)
            return to_record(result), to_record(picture), pack(log)
        case "figures":
            return to_record(method.judge(given.figures, limits, facts)) | {"figures": {}}, None, b""
        case _:  # a reading
            return to_record(typed_reading.judge(given.reading, given.unit, limits[0], facts)), None, b""


def differences(was: Record, would_be: Record) -> list[Difference]:
    """Every value that is not the same in two records, by its path, in order of the paths."""
    before, after = _leaves(was), _leaves(would_be)
    return [
        Difference(path, before.get(path, ABSENT), after.get(path, ABSENT))
        for path in sorted(before | after)
        if before.get(path, ABSENT) != after.get(path, ABSENT)
    ]


def _leaves(value: Any, path: str = "") -> dict[str, str]:
    """Each value of nested records with its path; what is empty is a value too."""
    inner = {}
    if isinstance(value, dict):
        inner = value
    elif isinstance(value, list):
        inner = dict(enumerate(value))
    if not inner:
        return {path: json.dumps(value, ensure_ascii=False)}
    return {
        below: text
        for name, each in inner.items()
        for below, text in _leaves(each, f"{path}.{name}" if path else str(name)).items()
    }
