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
    against, with_help = parted(*inhaled(breath, offset_mbar))
    exhaling = -share * area(volumes_l[most:], pressures_mbar[most:])
    # The samples at the turns may still belong to the breath's other half.
    helping_mbar = float(pressures_mbar[1:most].max(initial=0.0))
    return Work(
        total=share * (against - with_help) + exhaling,
        inhaling=share * (against - with_help),
        exhaling=exhaling,
        external=share * against,
        positive=share * with_help,
        lowest_mbar=float(pressures_mbar[: most + 1].min()),
        highest_mbar=float(pressures_mbar[most:].max()),
        helping_mbar=helping_mbar,
        zero_mbar=_zero_mbar(pressures_mbar, most),
    )


def inhaled(breath: Breath, offset_mbar: float = 0.0) -> tuple[Floats, Floats]:
    """Volumes and pressures of inhalation, both turns included."""
    return breath.volumes_l[: breath.most + 1], breath.pressures_mbar[: breath.most + 1] + offset_mbar


def parted(volumes_l: Floats, pressures_mbar: Floats) -> tuple[float, float]:
    """The area below and the area above zero pressure, in mbar L, each as it counts with rising volume.

    A straight line from -b to +a crosses zero after b/(a + b) of its way, so the shares of its width under which it lies
    are a a/(a + b) and b b/(a + b), halved; a line that crosses nothing has only one of the two.
    """
    steps_l = np.diff(volumes_l)
    above = np.maximum(pressures_mbar, 0.0)
    below = above - pressures_mbar
    above, below = above[1:] + above[:-1], below[1:] + below[:-1]
    # Nothing lies between two zeros, on either side.
    heights = steps_l / np.maximum(above + below, 1e-300) / 2.0
    return float(heights @ (below * below)), float(heights @ (above * above))


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
    least = sum(pressures_mbar[[-2, -1, 0, 1]].tolist()) / 4
    greatest = pressures_mbar[most - 1 : most + 2].tolist()
    return float(least + sum(greatest) / len(greatest)) / 2
