"""The pure computation of the bench: no database, no clock, no Django. One method a test, found by its name."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from jobs.bench.methods import finding, intermediate_pressure, typed_reading


@dataclass(frozen=True)
class Method:
    """A method as a service plan names it. `quantities` maps what it measures to its unit; empty means any."""

    name: str
    version: str
    takes: Literal["trace", "reading", "finding"]
    quantities: dict[str, str]
    judge: Callable[..., Any]


METHODS: dict[str, Method] = {
    method.name: method
    for method in (
        Method(
            name=intermediate_pressure.METHOD_NAME,
            version=intermediate_pressure.METHOD_VERSION,
            takes="trace",
            quantities=intermediate_pressure.QUANTITIES,
            judge=intermediate_pressure.judge,
        ),
        Method(
            name=typed_reading.METHOD_NAME,
            version=typed_reading.METHOD_VERSION,
            takes="reading",
            quantities={},
            judge=typed_reading.judge,
        ),
        Method(
            name=finding.METHOD_NAME,
            version=finding.METHOD_VERSION,
            takes="finding",
            quantities={},
            judge=finding.judge,
        ),
    )
}
