"""The pure computation of the bench: no database, no clock, no Django. One method a test, found by its name."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Literal

from jobs.bench.methods import (
    air_analysis,
    breathing_effort,
    breathing_loop,
    bubbles,
    depth_gauges,
    finding,
    function_list,
    gauge_check,
    intermediate_pressure,
    leaks,
    loops,
    overlays,
    proof_pressure,
    supply_slope,
    thread_check,
    traces,
    typed_reading,
    volumetric_expansion,
)
from jobs.bench.methods.asked import Ask
from jobs.bench.methods.logs import Log
from jobs.bench.methods.loop_pictures import loop_picture
from jobs.bench.methods.overlays import Curve
from jobs.bench.methods.pictures import Picture, trace_picture
from jobs.bench.methods.worked import Computation, judge


@dataclass(frozen=True)
class Logged:
    """How the file of a logger is read and drawn; its columns are those of one of `headings`.

    `curve` makes of what was read the points that are laid over others, named and counted from a zero of time; `units` are
    those of its two axes.
    """

    read: Callable[[str | bytes | Log], Any]
    draw: Callable[..., Picture]
    headings: tuple[str, ...]
    curve: Callable[[Any, str, float], Curve]
    units: tuple[str, str]


@dataclass(frozen=True)
class Method:
    """A method as a service plan names it. `quantities` maps what it measures to its unit; empty means any.

    `unit` is that of its instrument's facts, empty for the unit of what is read; `asks` are the figures that it asks for.
    """

    name: str
    version: str
    takes: Literal["trace", "reading", "finding", "figures"]
    quantities: Mapping[str, str]
    judge: Callable[..., Any]
    unit: str = ""
    asks: tuple[Ask, ...] = ()
    logged: Logged | None = None


def _computed(computation: Computation, unit: str) -> Method:
    return Method(
        name=computation.name,
        version=computation.version,
        takes="figures",
        quantities=computation.quantities,
        judge=partial(judge, computation),
        unit=unit,
        asks=computation.asks,
    )


METHODS: dict[str, Method] = {
    method.name: method
    for method in (
        Method(
            name=intermediate_pressure.METHOD_NAME,
            version=intermediate_pressure.METHOD_VERSION,
            takes="trace",
            quantities=intermediate_pressure.QUANTITIES,
            judge=intermediate_pressure.judge,
            unit="bar",
            logged=Logged(traces.parse_csv, trace_picture, traces.HEADINGS, overlays.of_trace, ("s", "bar")),
        ),
        Method(
            name=breathing_loop.METHOD_NAME,
            version=breathing_loop.METHOD_VERSION,
            takes="trace",
            quantities=breathing_loop.QUANTITIES,
            judge=breathing_loop.judge,
            unit="mbar",
            logged=Logged(loops.parse_csv, loop_picture, loops.HEADINGS, overlays.of_loop, ("L", "mbar")),
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
        _computed(breathing_effort.COMPUTATION, "mbar"),
        Method(
            name=function_list.METHOD_NAME,
            version=function_list.METHOD_VERSION,
            takes="figures",
            quantities={},
            judge=function_list.judge,
        ),
        Method(
            name=thread_check.METHOD_NAME,
            version=thread_check.METHOD_VERSION,
            takes="figures",
            quantities={},
            judge=thread_check.judge,
            asks=thread_check.ASKS,
        ),
        _computed(supply_slope.COMPUTATION, "bar"),
        _computed(volumetric_expansion.COMPUTATION, "ml"),
        _computed(proof_pressure.COMPUTATION, "bar"),
        _computed(leaks.COMPUTATION, "bar"),
        _computed(bubbles.COMPUTATION, "bar"),
        # A laboratory's figures and an analyser's are of many units, so no instrument's facts are taken.
        replace(_computed(air_analysis.COMPUTATION, "percent"), judge=air_analysis.judge),
        _computed(gauge_check.COMPUTATION, "bar"),
        _computed(depth_gauges.COMPUTATION, "m"),
    )
}
