"""A record of volume and pressure cut into closed breaths.

A breath runs from the least volume to the next least volume; the greatest between them parts inhalation from exhalation.
A turn counts once the volume has gone back by a tenth of a litre, so noise makes none. A small gap is closed by bringing
both directions to their mean: that is exact when a sensor reads the two directions differently, near enough for a zero
error of the flow, and needs no times. The thresholds are the project's own.
"""

from dataclasses import dataclass

import numpy as np

from jobs.bench.methods.traces import Floats, UnreadableTrace

TURN_L = 0.1
MAX_GAP = 0.05
MIN_TIDAL_L, MAX_TIDAL_L = 0.25, 20.0
MIN_PERIOD_S, MAX_PERIOD_S = 0.5, 120.0
MIN_POINTS = 8
MAX_BREATHS = 500


@dataclass(frozen=True, eq=False)
class Breath:
    """One closed breath: volumes from 0 back to 0, greatest at `most`, with mouth pressures against ambient.

    `gap_l` is how far the volume came back from where it began before it was closed; `period_s` is None without times.
    """

    volumes_l: Floats
    pressures_mbar: Floats
    most: int
    tidal_l: float
    gap_l: float
    period_s: float | None


def cut(volumes_l: Floats, pressures_mbar: Floats, times_s: Floats | None) -> tuple[tuple[Breath, ...], int]:
    """Cut a record into its whole breaths, and count the samples before the first and after the last.

    A record without two least volumes is one breath if it ends where it began. UnreadableTrace with every reason if there
    is no breath, or if one does not close within 5 % of its tidal volume or is absurd.
    """
    turns = turning_points(volumes_l.tolist())
    if not turns:
        raise UnreadableTrace([f"The volume never moves by more than {TURN_L:g} L."])
    lows = _least(volumes_l, turns)
    if len(lows) < 2:
        volumes_l, pressures_mbar = _begun_at_least(volumes_l, pressures_mbar)
        lows = [0, len(volumes_l) - 1]
        ends_s = None if times_s is None else times_s[[0, -1]]
    else:
        ends_s = None if times_s is None else times_s[lows]
    if len(lows) > MAX_BREATHS + 1:
        raise UnreadableTrace([f"There are {len(lows) - 1} breaths; at most {MAX_BREATHS} are accepted."])
    periods_s = [None] * (len(lows) - 1) if ends_s is None else np.diff(ends_s).tolist()
    breaths = tuple(
        _closed(volumes_l[start : end + 1], pressures_mbar[start : end + 1], period_s)
        for start, end, period_s in zip(lows[:-1], lows[1:], periods_s, strict=True)
    )
    reasons = [reason for number, breath in enumerate(breaths, 1) for reason in _reasons(number, breath)]
    if reasons:
        raise UnreadableTrace(reasons)
    return breaths, lows[0] + len(volumes_l) - 1 - lows[-1]


def turning_points(volumes_l: list[float]) -> list[int]:
    """Where the volume turns, least and greatest in turn, the outermost at either end of the record included."""
    low = high = 0
    rising = falling = False
    turns: list[int] = []
    for index, volume_l in enumerate(volumes_l):
        if not falling and volume_l > volumes_l[high]:
            high = index
        if not rising and volume_l < volumes_l[low]:
            low = index
        if not rising and volume_l > volumes_l[low] + TURN_L:
            turns.append(low)
            rising, falling, high = True, False, index
        elif not falling and volume_l < volumes_l[high] - TURN_L:
            turns.append(high)
            rising, falling, low = False, True, index
    return [*turns, high if rising else low] if turns else []


def _least(volumes_l: Floats, turns: list[int]) -> list[int]:
    """The least volumes; one at an end of the record only if its breath closes, else a breath was cut off there."""
    lows = turns[0 if volumes_l[turns[0]] < volumes_l[turns[1]] else 1 :: 2]
    if len(lows) > 1 and lows[0] == turns[0] and _is_open(volumes_l[lows[0] : lows[1] + 1]):
        lows = lows[1:]
    if len(lows) > 1 and lows[-1] == turns[-1] and _is_open(volumes_l[lows[-2] : lows[-1] + 1]):
        lows = lows[:-1]
    return lows


def _is_open(volumes_l: Floats) -> bool:
    return abs(float(volumes_l[-1] - volumes_l[0])) > MAX_GAP * _tidal_l(volumes_l)


def _tidal_l(volumes_l: Floats) -> float:
    """The mean of what goes in and what comes out."""
    return float(volumes_l.max() - (volumes_l[0] + volumes_l[-1]) / 2)


def _begun_at_least(volumes_l: Floats, pressures_mbar: Floats) -> tuple[Floats, Floats]:
    """A single breath that was begun anywhere, turned round to begin at its least volume."""
    gap_l = float(volumes_l[-1] - volumes_l[0])
    spread_l = float(volumes_l.max() - volumes_l.min())
    if abs(gap_l) > MAX_GAP * spread_l:
        raise UnreadableTrace(
            [
                f"There is no whole breath between two least volumes, and the record ends {gap_l:.3g} L from where it "
                f"began, {abs(gap_l) / spread_l:.1%} of its range; at most {MAX_GAP:.0%} is closed."
            ]
        )
    least = int(np.argmin(volumes_l))
    volumes_l = np.concatenate([volumes_l[least:], volumes_l[1 : least + 1] + gap_l])
    if len(turning_points(volumes_l.tolist())) != 3:
        raise UnreadableTrace(["There is no whole breath between two least volumes: record at least two."])
    return volumes_l, np.concatenate([pressures_mbar[least:], pressures_mbar[1 : least + 1]])


def _closed(volumes_l: Floats, pressures_mbar: Floats, period_s: float | None) -> Breath:
    most = int(np.argmax(volumes_l))
    tidal_l = _tidal_l(volumes_l)
    rise_l, fall_l = volumes_l[most] - volumes_l[0], volumes_l[most] - volumes_l[-1]
    inhaled_l = (volumes_l[: most + 1] - volumes_l[0]) * (tidal_l / rise_l)
    exhaled_l = (volumes_l[most + 1 :] - volumes_l[-1]) * (tidal_l / fall_l)
    return Breath(
        volumes_l=np.concatenate([inhaled_l, exhaled_l]),
        pressures_mbar=pressures_mbar,
        most=most,
        tidal_l=tidal_l,
        gap_l=float(volumes_l[-1] - volumes_l[0]),
        period_s=period_s,
    )


def _reasons(number: int, breath: Breath) -> list[str]:
    reasons = []
    if len(breath.volumes_l) <= MIN_POINTS:
        reasons.append(f"has {len(breath.volumes_l) - 1} samples; at least {MIN_POINTS} are needed.")
    if abs(breath.gap_l) > MAX_GAP * breath.tidal_l:
        reasons.append(
            f"ends {breath.gap_l:.3g} L from the volume where it began, {abs(breath.gap_l) / breath.tidal_l:.1%} of its "
            f"tidal volume; at most {MAX_GAP:.0%} is closed. Look at the zero of the flow or volume sensor."
        )
    if not MIN_TIDAL_L <= breath.tidal_l <= MAX_TIDAL_L:
        reasons.append(f"moves {breath.tidal_l:.3g} L; {MIN_TIDAL_L:g} to {MAX_TIDAL_L:g} L can be meant.")
    if breath.period_s is not None and not MIN_PERIOD_S <= breath.period_s <= MAX_PERIOD_S:
        reasons.append(f"takes {breath.period_s:.3g} s; {MIN_PERIOD_S:g} to {MAX_PERIOD_S:g} s can be meant.")
    return [f"Breath {number} {reason}" for reason in reasons]
