"""The work in one breath, exact for straight lines between its samples.

Work of breathing is the area of the loop over its tidal volume, W = -1/VT * (closed integral of P dV), with volume rising
and mouth pressure negative on inhalation. 1 mbar L is 0.1 J. Its two parts are the integral over inhalation and over
exhalation and add up to it. Within inhalation, what the diver does against negative pressure and what positive pressure
does for him are counted apart and never netted. A constant added to the pressure leaves the area alone, and moves work
from one part to the other. Source: the project's own derivation, checked against closed forms in the tests.
"""

import math
from dataclasses import dataclass

import numpy as np

from jobs.bench.methods.breaths import Breath
from jobs.bench.methods.logs import Floats

J_PER_MBAR_L = 0.1


@dataclass(frozen=True)
class Work:
    """Work by litre of tidal volume in J/L, and pressures in mbar, of one breath.

    `zero_mbar` is the mean pressure about the two turns of volume, where nothing flows.
    """

    total: float
    inhaling: float
    exhaling: float
    external: float
    positive: float
    lowest_mbar: float
    highest_mbar: float
    helping_mbar: float
    zero_mbar: float


def work_of(breath: Breath, offset_mbar: float = 0.0) -> Work:
    """Measure one breath, with an offset added to its pressures."""
    volumes_l, pressures_mbar, most = breath.volumes_l, breath.pressures_mbar + offset_mbar, breath.most
    share = J_PER_MBAR_L / breath.tidal_l
    into_l, into_mbar = with_zeros(volumes_l[: most + 1], pressures_mbar[: most + 1])
    inhaling = -share * area(volumes_l[: most + 1], pressures_mbar[: most + 1])
    exhaling = -share * area(volumes_l[most:], pressures_mbar[most:])
    # The samples at the turns may still belong to the breath's other half.
    helping_mbar = float(pressures_mbar[1:most].max(initial=0.0))
    return Work(
        total=inhaling + exhaling,
        inhaling=inhaling,
        exhaling=exhaling,
        external=share * area(into_l, np.maximum(-into_mbar, 0.0)),
        positive=share * area(into_l, np.maximum(into_mbar, 0.0)),
        lowest_mbar=float(pressures_mbar[: most + 1].min()),
        highest_mbar=float(pressures_mbar[most:].max()),
        helping_mbar=helping_mbar,
        zero_mbar=_zero_mbar(pressures_mbar, most),
    )


def with_zeros(volumes_l: Floats, pressures_mbar: Floats) -> tuple[Floats, Floats]:
    """The same line with a point wherever its pressure crosses zero between two samples."""
    signs = np.sign(pressures_mbar)
    before = np.flatnonzero(signs[:-1] * signs[1:] < 0)
    way = pressures_mbar[before] / (pressures_mbar[before] - pressures_mbar[before + 1])
    crossings_l = volumes_l[before] + way * (volumes_l[before + 1] - volumes_l[before])
    return np.insert(volumes_l, before + 1, crossings_l), np.insert(pressures_mbar, before + 1, 0.0)


def area(volumes_l: Floats, pressures_mbar: Floats) -> float:
    """The integral of P dV in mbar L by the trapezoid rule."""
    return float(np.dot(np.diff(volumes_l), pressures_mbar[1:] + pressures_mbar[:-1])) / 2


def method_error(points: int) -> float:
    """The relative error of the area of a sinusoidal breath against a linear resistance, of evenly spread samples.

    A polygon of n corners in an ellipse has sin(x)/x of its area, x = 2 pi/n.
    """
    x = 2 * math.pi / points
    return math.sin(x) / x - 1


def _zero_mbar(pressures_mbar: Floats, most: int) -> float:
    """Three samples about each turn: flow goes both ways in them, so that steep resistances cancel."""
    least = pressures_mbar[[-2, -1, 0, 1]].mean()
    return float(least + pressures_mbar[most - 1 : most + 2].mean()) / 2
