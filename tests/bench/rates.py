"""What the trace methods are worth, measured: `python -m tests.bench.rates speed` or `… rates creep 1000`. No test, and not run as one.

`speed` times a logged purge from its file to what is stored, step by step (medians in ms of one thread's own time, which other work on the machine hardly moves), with the peak of memory. `creep`
counts over so many seeds how often the interval holds the true creep, and what verdicts a warming gas leads to.
"""

import statistics
import sys
import time
import tracemalloc
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import partial

import numpy as np

from jobs.bench.methods import METHODS, judging
from jobs.bench.methods.intermediate_pressure import judge
from jobs.bench.methods.judging import Given
from jobs.bench.methods.logs import read_log
from jobs.bench.methods.packed import pack
from tests.bench.methods.purges import LIMITS, purge, warmed

CREEP = LIMITS[2]
# Warming: bar in the end, time constant in s.
WARMINGS = [(0.0, 60.0), (0.05, 20.0), (0.05, 60.0), (0.05, 180.0), (0.2, 20.0), (0.2, 60.0), (0.2, 180.0)]
COVERED: list[dict[str, float]] = [
    {},
    {"tau_s": 3.0},
    {"tau_s": 5.0},
    {"noise_bar": 0.005},
    {"noise_bar": 0.002},
    {"rate_hz": 10.0},
    {"rho": 0.6},
]


def say(*words: object) -> None:
    sys.stdout.write("  ".join(str(word) for word in words) + "\n")
    sys.stdout.flush()


def median_ms(run: Callable[[], object], times: int = 51) -> float:
    taken = []
    for _ in range(times):
        begun = time.thread_time()
        run()
        taken.append(time.thread_time() - begun)
    return round(statistics.median(taken) * 1000, 2)


def speed() -> None:
    method = METHODS["intermediate pressure"]
    assert method.logged is not None
    logged = method.logged
    for samples in (6_000, 30_000):
        trace = purge(seconds=600, rate_hz=(samples - 1) / 600)
        rows = [f"{t:.3f},{p:.4f}" for t, p in zip(trace.times_s, trace.pressures_bar, strict=True)]
        sent = Given(trace="\n".join(["t_s,p_bar", *rows]).encode())
        log = read_log(sent.trace, logged.headings)
        result = method.judge(trace, LIMITS, None)
        steps: dict[str, Callable[[], object]] = {
            "whole": partial(judging.judge, method, sent, LIMITS, None),
            "parse": partial(read_log, sent.trace, logged.headings),
            "check": partial(logged.read, log),
            "judge": partial(method.judge, trace, LIMITS, None),
            "draw": partial(logged.draw, trace, result, LIMITS),
            "pack": partial(pack, log),
        }
        tracemalloc.start()
        judging.judge(method, sent, LIMITS, None)
        peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        told = [f"{name} {median_ms(run)}" for name, run in steps.items()]
        say(
            f"{samples} samples, ms of own time:",
            *told,
            f"peak {peak_mb:.1f} MB",
            f"{len(pack(log))} bytes kept",
        )


def creep(seeds: int) -> None:
    for conditions in COVERED:
        held, values = 0, []
        for seed in range(seeds):
            found = judge(purge(seed=seed, **conditions)).figures.creep_bar_min
            assert found is not None
            held += found.low <= Decimal("0.02") <= found.high
            values.append(float(found.value) - 0.02)
        told = f"covered {held / seeds:.1%}, bias {np.mean(values):+.5f}, sd {np.std(values):.5f}"
        say(conditions or "white noise of 0.01 bar, 2 Hz, 180 s", told)
    for limit in ("0.01", "0.05", "0.1"):
        for leak in (0.0, -0.5, 0.5, -2.0, 2.0):
            for warm_bar, tau_s in WARMINGS:
                rates = verdicts(seeds, leak * float(limit), limit, warm_bar, tau_s)
                told = f"warming {warm_bar:g} bar in {tau_s:g} s"
                say(f"limit {limit}, leak {leak * float(limit):+g} bar/min,", told, rates)


def verdicts(seeds: int, leak: float, limit: str, warm_bar: float, tau_s: float) -> str:
    """How often each verdict comes, in per cent."""
    limits = [replace(CREEP, high=Decimal(limit))]
    found = Counter(
        judge(warmed(purge(seed=seed, creep_bar_min=leak), warm_bar, tau_s), limits).verdict
        for seed in range(seeds)
    )
    return ", ".join(f"{name} {100 * count / seeds:.1f} %" for name, count in sorted(found.items()))


if __name__ == "__main__":
    if sys.argv[1] == "speed":
        speed()
    else:
        creep(int(sys.argv[2]))
