"""Ours and the raw comparison, timed in turns in one run, with the plans of their slowest queries."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from time import perf_counter
from typing import Any

from django.db import connection, transaction

from jobs.speed.management.commands._rows import count_on
from jobs.speed.rules import Limit, Measured, middle

WARM = 2
PATIENCE_S = 20.0  # a question that takes longer than this ends after the round it is in
LOOKS = re.compile(r"Scan|Cond:|Filter:|SCAN|SEARCH|TEMP B-TREE|Sort Key")
WIDE = 150
# Which statements belong to what is measured apart.
APART = {"journal": "journal_", "search row": "search_findable", "once()": "api_answer"}


@dataclass
class Record:
    """Every statement that was executed within it, with its milliseconds."""

    made: list[tuple[str, Any, float]] = field(default_factory=list)

    def __call__(self, execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        begun = perf_counter()
        try:
            return execute(sql, params, many, context)
        finally:
            self.made.append((sql, params, 1000 * (perf_counter() - begun)))

    @property
    def statements(self) -> list[tuple[str, Any, float]]:
        """Those that read or write rows, without the borders of transactions."""
        borders = ("BEGIN", "SAVEPOINT", "RELEASE", "ROLLBACK")
        return [each for each in self.made if not each[0].startswith(borders)]


def recorded(act: Callable[[], Any]) -> Record:
    """What an act executes."""
    record = Record()
    with connection.execute_wrapper(record):
        act()
    return record


def timed(act: Callable[[], Any]) -> float:
    """The milliseconds of an act."""
    begun = perf_counter()
    act()
    return 1000 * (perf_counter() - begun)


def plan_of(record: Record, table: str) -> str:
    """How the engine goes about the slowest statement that touches a table: which rows it looks at, and how."""
    about = [each for each in record.statements if table in each[0]]
    sql, params, _ = max(about, key=lambda each: each[2])
    with connection.cursor() as cursor:
        cursor.execute(
            f"EXPLAIN {'QUERY PLAN' if connection.vendor == 'sqlite' else '(COSTS OFF)'} {sql}", params
        )
        lines = [str(row[-1]).strip() for row in cursor.fetchall()]
    return "\n".join(line[:WIDE] for line in lines if LOOKS.search(line))


def side_by_side(
    question: str, table: str, ours: Callable[[], Any], raw: Callable[[], Any], limit: Limit, rounds: int
) -> Measured:
    """Two reads in turns; the plans are of what they ask of a table."""
    queries, times = [recorded(act) for act in (ours, raw)], list[tuple[float, float]]()
    for _ in range(WARM):
        ours(), raw()
    begun = perf_counter()
    while len(times) < rounds and perf_counter() - begun < PATIENCE_S:
        times.append((timed(ours), timed(raw)))
    plans = (plan_of(queries[0], table), plan_of(queries[1], table))
    columns = list(zip(*times, strict=True))
    return Measured(question, columns[0], columns[1], limit, len(queries[0].statements), plans)


def written(question: str, act: Callable[[], Any], limit: Limit, rounds: int) -> Measured:
    """An act that writes, and in turns with it the same statements: recorded, taken back, executed again as text."""
    ours, raw, apart = list[float](), list[float](), dict[str, list[float]]()
    for k in range(WARM + rounds):
        took = timed(act)
        with transaction.atomic():
            record = recorded(act)
            transaction.set_rollback(True)
        count_on()
        parts: dict[str, float] = {}
        again = timed(lambda: _again(record, parts))  # noqa: B023 - called at once
        if k >= WARM:
            ours.append(took)
            raw.append(again)
            for name, ms in parts.items():
                apart.setdefault(name, []).append(ms)
    told = tuple(f"of the raw statements {name}: {middle(each):.2f} ms" for name, each in apart.items())
    return Measured(question, ours, raw, limit, len(record.statements), parts=told)


def _again(record: Record, parts: dict[str, float]) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        for sql, params, _ in record.statements:
            begun = perf_counter()
            cursor.execute(sql, params)
            if cursor.description:
                cursor.fetchall()
            name = next((each for each, table in APART.items() if f'"{table}' in sql), "")
            if name:
                parts[name] = parts.get(name, 0) + 1000 * (perf_counter() - begun)


def fetched(sql: str, params: Sequence[Any] = ()) -> list[Any]:
    """The rows of a raw statement, if it gives any."""
    with connection.cursor() as cursor:
        cursor.execute(sql, params or None)
        return cursor.fetchall() if cursor.description else []


def changed(sql: str) -> int:
    """How many rows a raw statement wrote."""
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return int(cursor.rowcount)
