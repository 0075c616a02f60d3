"""Leaks: the fall of pressure in a closed volume with its temperature taken out of it. Bubbles counted are in `bubbles`.

Pressures are typed as gauges show them; the atmosphere is added. At or below 12 bar absolute the gas counts as ideal: over
5 K that errs by 0.01 bar at most, computed with CoolProp 8.0.0. Above, it is the real gas, because
Charles' law would take the cooling of a full cylinder for a leak. The derivation is the project's own; no published
allowance for a leak was found, so limits are the workshop's. The instrument's facts are in bar.
"""

from dataclasses import dataclass
from decimal import Decimal
from math import hypot
from typing import NamedTuple

from jobs.bench.methods import bounds, gases
from jobs.bench.methods.asked import BadFigures, Figure, Typed
from jobs.bench.methods.typed_reading import expanded_uncertainty
from jobs.bench.methods.verdicts import Instrument
from jobs.bench.methods.worked import Computation, Value, Worked

LOW_PRESSURE_BAR = 12.0
# A change counts as explained by temperature when temperature alone would make more than this share of it.
MOST_OF_IT = 0.5

PRESSURE_LOSS, MASS_LOSS, SURFACE_LOSS = "corrected pressure loss", "mass loss", "surface loss"

_STEP = "Smallest step of the thermometer. Without it the interval holds nothing of temperature."
DECAY_ASKS = (
    Figure("start_pressure", "Pressure at the start", "bar", "As the gauge shows it."),
    Figure("end_pressure", "Pressure at the end", "bar", "As the gauge shows it."),
    Figure("minutes", "Time between", "min"),
    Figure("start_temperature", "Temperature at the start, °C", words="Of the gas, not of the room."),
    Figure("end_temperature", "Temperature at the end, °C", words="Of the gas, not of the room."),
    Figure("volume", "Volume", "l", "All that is under this pressure."),
    Figure("oxygen", "Share of oxygen", "percent", "21 is air."),
    Figure("atmosphere", "Pressure of the air around", "bar", "Empty: 1.01325 bar.", optional=True),
    Figure("temperature_step", "Step of the thermometer, °C", words=_STEP, optional=True),
)
# The range of the gas fit, and what no bench sees.
DECAY_BOUNDS = {
    "start_pressure": (Decimal("0.001"), Decimal(350)),
    "end_pressure": (Decimal(0), Decimal(350)),
    "minutes": (Decimal("0.1"), Decimal(100_000)),
    "start_temperature": (Decimal(-15), Decimal(60)),
    "end_temperature": (Decimal(-15), Decimal(60)),
    "volume": (Decimal("0.001"), Decimal(1000)),
    "oxygen": (Decimal(21), Decimal(40)),
    "atmosphere": (Decimal("0.5"), Decimal("1.1")),
    "temperature_step": (Decimal("0.001"), Decimal(10)),
}


class States(NamedTuple):
    """The two readings, pressures absolute."""

    start_bar: float
    end_bar: float
    start_c: float
    end_c: float


@dataclass(frozen=True)
class Decay:
    """What does not change between two readings."""

    law: gases.Law
    minutes: float
    volume_l: float
    oxygen_percent: float

    def tight_bar(self, states: States) -> float:
        """The pressure at the end if nothing had leaked."""
        density = self.law.density(states.start_bar, states.start_c, self.oxygen_percent)
        return self.law.pressure(density, states.end_c, self.oxygen_percent)

    def losses(self, states: States) -> tuple[float, float, float]:
        """Bar a minute at the end's temperature, grams a minute, litres a minute at 1.01325 bar and the start's one."""
        start = self.law.density(states.start_bar, states.start_c, self.oxygen_percent)
        end = self.law.density(states.end_bar, states.end_c, self.oxygen_percent)
        surface = self.law.density(gases.ATMOSPHERE_BAR, states.start_c, self.oxygen_percent)
        moles_min = (start - end) * self.volume_l / self.minutes
        pressure_min = (self.tight_bar(states) - states.end_bar) / self.minutes
        return pressure_min, moles_min * gases.molar_mass_g_mol(self.oxygen_percent), moles_min / surface


def pressure_decay(typed: Typed, instrument: Instrument | None) -> Worked:
    """Losses from two readings, positive when gas is lost; BadFigures outside the range of the gas fit.

    The intervals (k = 2) come from the gauge's step and calibration and the thermometer's step, each at both ends on its
    own, and from how well the law of the gas is known; without facts of the gauge there are none.
    """
    figures = typed.figures
    bounds.check(DECAY_ASKS, figures, DECAY_BOUNDS)
    decay, states = _read(typed)
    step_c = figures.get("temperature_step")
    spread_bar = None if instrument is None else expanded_uncertainty(instrument)
    spread_c = expanded_uncertainty(Instrument(resolution=step_c)) or Decimal(0)
    found = decay.losses(states)
    halves = None if spread_bar is None else _halves(decay, states, float(spread_bar), float(spread_c))
    values = {
        name: _value(found[n], None if halves is None else halves[n], unit)
        for n, (name, unit) in enumerate(DECAY_QUANTITIES.items())
    }
    explained = _explained(decay, states, float(spread_bar or 0))
    return Worked(
        values=values,
        warnings=(*_notes(typed, decay, states), *((explained,) if explained else ())),
        doubts=tuple(_doubts(values[PRESSURE_LOSS], explained, typed, instrument)),
    )


def _read(typed: Typed) -> tuple[Decay, States]:
    """The law by the higher of the two pressures, so that both ends are computed alike."""
    known = {key: float(value) for key, value in typed.figures.items()}
    around_bar = known.get("atmosphere", gases.ATMOSPHERE_BAR)
    start_bar, end_bar = known["start_pressure"] + around_bar, known["end_pressure"] + around_bar
    states = States(start_bar, end_bar, known["start_temperature"], known["end_temperature"])
    law = gases.IDEAL if max(start_bar, end_bar) <= LOW_PRESSURE_BAR else gases.REAL
    if law is gases.REAL:
        reasons = []
        for key, bar in (("start_pressure", start_bar), ("end_pressure", end_bar)):
            if not gases.LEAST_BAR <= bar <= gases.MOST_BAR:
                reasons.append(
                    (key, f"With the air around it is {bar:.6g} bar; 1 to 350 bar can be computed.")
                )
        if reasons:
            raise BadFigures(reasons)
    return Decay(law, known["minutes"], known["volume"], known["oxygen"]), states


def _halves(decay: Decay, states: States, spread_bar: float, spread_c: float) -> list[float]:
    """Half-widths: each reading moved by its own spread to both sides, what that does added in squares."""
    off_bar = decay.law.off_bar_c * abs(states.end_c - states.start_c)
    spreads = States(spread_bar, hypot(spread_bar, off_bar), spread_c, spread_c)._asdict()
    squares = [0.0, 0.0, 0.0]
    for name, value in states._asdict().items():
        spread = spreads[name]
        above = decay.losses(states._replace(**{name: value + spread}))
        below = decay.losses(states._replace(**{name: value - spread}))
        squares = [old + ((above[n] - below[n]) / 2) ** 2 for n, old in enumerate(squares)]
    return [square**0.5 for square in squares]


def _value(value: float, half: float | None, unit: str) -> Value:
    if half is None:
        return Value(_decimal(value), unit)
    return Value(_decimal(value), unit, _decimal(value - half), _decimal(value + half))


def _decimal(number: float) -> Decimal:
    """Nine places, so that differences of floats which should be none are none; never minus zero."""
    return Decimal(f"{number:.9f}").normalize() + Decimal(0)


def _explained(decay: Decay, states: States, spread_bar: float) -> str:
    """A sentence where temperature alone would make most of the change, or would have made one that does not show."""
    start_bar, end_bar, start_c, end_c = states
    by_temperature, seen = decay.tight_bar(states) - start_bar, end_bar - start_bar
    if start_c == end_c or abs(by_temperature) <= max(spread_bar, MOST_OF_IT * abs(seen)):
        return ""
    word = "Warming" if end_c > start_c else "Cooling"
    return (
        f"{word} from {start_c:.6g} to {end_c:.6g} °C alone changes the pressure by {by_temperature:+.3f} bar; the gauge "
        f"moved by {seen:+.3f} bar. Temperature explains or hides most of it: let it settle and measure again if in doubt."
    )


def _notes(typed: Typed, decay: Decay, states: States) -> list[str]:
    found = [f"Computed as {decay.law.name}; surface litres are at 1.01325 bar and {states.start_c:.6g} °C."]
    if "atmosphere" not in typed.figures:
        found.append("1.01325 bar was taken for the pressure of the air around.")
    if "temperature_step" not in typed.figures:
        warmer = decay.losses(states._replace(end_c=states.end_c + 1))
        one_degree = abs(warmer[0] - decay.losses(states)[0])
        found.append(
            "The thermometer's step was not given, so the interval holds nothing of temperature: one degree off makes "
            f"{one_degree:.3g} bar/min."
        )
    return found


def _doubts(loss: Value, explained: str, typed: Typed, instrument: Instrument | None) -> list[str]:
    found = []
    if explained and "temperature_step" not in typed.figures:
        found.append("Temperature made most of the change, and how well it was measured is not known.")
    if (loss.value if loss.high is None else loss.high) < 0:
        found.append("There is more gas at the end than at the start: it was not closed, or not settled.")
    end = None if instrument is None else instrument.range_high
    if end is not None and max(typed.figures["start_pressure"], typed.figures["end_pressure"]) >= end:
        found.append("A pressure is at the end of the instrument's range: use one that reads higher.")
    return found


DECAY_QUANTITIES = {PRESSURE_LOSS: "bar_min", MASS_LOSS: "g_min", SURFACE_LOSS: "l_min"}
COMPUTATION = Computation("pressure decay", "1", DECAY_ASKS, DECAY_QUANTITIES, pressure_decay)
