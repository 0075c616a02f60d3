"""Records of a breathing machine made by a formula, for tests."""

from collections.abc import Sequence

import numpy as np

from jobs.bench.methods.loops import Loop, from_flows, from_volumes
from jobs.bench.methods.traces import Floats

POLYGON_L = [0, 0.25, 1.25, 2.25, 2.5, 2.25, 1.25, 0.25, 0]
POLYGON_MBAR = [0, -10, -6, -10, 0, 8, 10, 8, 0]
# A valve that opens at 8 mbar and then blows by itself; the way back against nothing.
VENTURI_L = [0, 0.5, 0.75, 1, 2, 2.25, 2.5, 1.5, 0.5, 0]
VENTURI_MBAR = [0, -8, 0, 4, 4, 0, 0, 0, 0, 0]


def angles(points: int = 200, breaths: float = 1, phase: float = 0.0) -> Floats:
    """Evenly spread over some breaths, from the least volume; `phase` is how many samples later it begins."""
    return np.asarray(2 * np.pi * (np.arange(round(points * breaths) + 1) + phase) / points)


def resisting(
    angle: Floats, power: float = 1.0, inhale_mbar: float = 10.0, exhale_mbar: float = 10.0
) -> Floats:
    """Pressure against the flow, growing with a power of it."""
    flow = np.sin(angle)
    flow[np.abs(flow) < 1e-9] = 0.0
    return np.asarray(
        np.where(flow > 0, -inhale_mbar, exhale_mbar) * np.sign(np.abs(flow)) * np.abs(flow) ** power
    )


def sinus(angle: Floats, pressures_mbar: Sequence[float] | Floats, tidal_l: float = 2.5) -> Loop:
    """A sinusoidal machine that records volume."""
    return from_volumes(tidal_l / 2 * (1 - np.cos(angle)), pressures_mbar)


def timed(
    angle: Floats,
    pressures_mbar: Floats,
    *,
    tidal_l: float = 2.5,
    rate_min: float = 25.0,
    zero_l_s: float = 0.0,
) -> Loop:
    """The same machine recording flow at known times, its flow sensor off by `zero_l_s`."""
    period_s = 60 / rate_min
    flows_l_s = np.pi * tidal_l / period_s * np.sin(angle) + zero_l_s
    return from_flows(angle / (2 * np.pi) * period_s, flows_l_s, pressures_mbar)
