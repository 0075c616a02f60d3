from decimal import Decimal

import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.leaks import COMPUTATION as DECAY
from jobs.bench.methods.leaks import MASS_LOSS, PRESSURE_LOSS, SURFACE_LOSS
from jobs.bench.methods.verdicts import Instrument, Limit, Rule, Verdict
from jobs.bench.methods.worked import Result, judge

# A first stage locked up at 9.5 bar, a little volume behind it, one temperature.
LOW = {
    "start_pressure": "9.5",
    "end_pressure": "9.3",
    "minutes": "10",
    "start_temperature": "20",
    "end_temperature": "20",
    "volume": "0.1",
    "oxygen": "21",
    "temperature_step": "0.1",
}
# A full cylinder that cools from 24 to 18 degrees without a leak.
COOLING = LOW | {
    "start_pressure": "200",
    "end_pressure": "194.2",
    "start_temperature": "24",
    "end_temperature": "18",
    "volume": "12",
}
GAUGE = Instrument(resolution=Decimal("0.01"))


def at_most(high: str, decision: Rule = Rule.GUARDED, quantity: str = PRESSURE_LOSS) -> Limit:
    return Limit(quantity, DECAY.quantities[quantity], high=Decimal(high), decision=decision)


def decay(given: dict[str, str], *limits: Limit, instrument: Instrument | None = GAUGE) -> Result:
    return judge(DECAY, given, limits, instrument)


def told(result: Result, words: str) -> bool:
    return any(words in warning for warning in result.warnings)


def half(result: Result, quantity: str) -> float:
    value = result.values[quantity]
    assert value.low is not None
    assert value.high is not None
    assert value.high - value.value == pytest.approx(value.value - value.low, abs=Decimal("2e-9"))
    return float(value.high - value.low) / 2


def without(key: str) -> dict[str, str]:
    return {name: text for name, text in LOW.items() if name != key}


@pytest.mark.parametrize(
    ("high", "verdict"),
    [("0.03", Verdict.WITHIN), ("0.02", Verdict.INCONCLUSIVE), ("0.01", Verdict.OUTSIDE)],
)
def test_it_works(high: str, verdict: Verdict) -> None:
    result = decay(LOW, at_most(high))
    assert result.values[PRESSURE_LOSS].value == Decimal("0.02")
    assert result.values[SURFACE_LOSS].value * 1000 == pytest.approx(Decimal("1.974"), abs=Decimal("0.001"))
    assert result.values[MASS_LOSS].value * 1000 == pytest.approx(Decimal("2.376"), abs=Decimal("0.001"))
    assert result.verdict == verdict


def test_it_names_its_quantities_and_their_units() -> None:
    assert (DECAY.name, DECAY.version) == ("pressure decay", "1")
    assert {name: value.unit for name, value in decay(LOW).values.items()} == dict(DECAY.quantities)
    assert dict(DECAY.quantities) == {
        "corrected pressure loss": "bar_min",
        "mass loss": "g_min",
        "surface loss": "l_min",
    }


def test_it_carries_the_steps_of_both_instruments() -> None:
    """By hand: 0.0058 bar and 0.058 K at both ends, 10.51 bar at 293.15 K, in 10 minutes."""
    result = decay(LOW)
    by_gauge = 2 * 0.0058**2
    by_warmth = (0.058 * 10.51325 / 293.15) ** 2 * 2
    assert half(result, PRESSURE_LOSS) == pytest.approx((by_gauge + by_warmth) ** 0.5 / 10, rel=1e-3)


def test_it_carries_the_gauge_alone_where_the_thermometer_is_not_known() -> None:
    result = decay(without("temperature_step"))
    assert half(result, PRESSURE_LOSS) == pytest.approx(0.0058 * 2**0.5 / 10, rel=1e-6)
    assert half(result, SURFACE_LOSS) == pytest.approx(0.0058 * 2**0.5 / 10 * 0.1 / 1.01325, rel=1e-4)
    # p V / (R T), with air of 28.96 g/mol.
    moles = 0.0058 * 2**0.5 / 10 * 0.1 / (0.08314462618 * 293.15)
    assert half(result, MASS_LOSS) == pytest.approx(moles * 28.96, rel=1e-4)
    assert told(result, "one degree off makes 0.00359 bar/min")


def test_it_carries_calibration_at_both_ends() -> None:
    calibrated = Instrument(standard_uncertainty=Decimal("0.05"))
    result = decay(without("temperature_step"), instrument=calibrated)
    assert half(result, PRESSURE_LOSS) == pytest.approx(0.1 * 2**0.5 / 10, rel=1e-6)


@pytest.mark.parametrize(
    ("given", "off"), [(COOLING, 6 * 0.005), (LOW | {"end_temperature": "23"}, 3 * 0.002)]
)
def test_it_carries_what_the_law_of_the_gas_is_off(given: dict[str, str], off: float) -> None:
    fine = Instrument(standard_uncertainty=Decimal("0.000001"))
    sharp = given | {"temperature_step": "0.001"}
    assert half(decay(sharp, instrument=fine), PRESSURE_LOSS) == pytest.approx(off / 10, rel=0.02)


@pytest.mark.parametrize("instrument", [None, Instrument(range_high=Decimal(400))])
def test_it_has_no_interval_without_facts_of_the_gauge(instrument: Instrument | None) -> None:
    result = decay(LOW, at_most("1"), instrument=instrument)
    assert {(value.low, value.high) for value in result.values.values()} == {(None, None)}
    assert result.verdict == Verdict.INCONCLUSIVE
    assert decay(LOW, at_most("0.02", Rule.SIMPLE), instrument=instrument).verdict == Verdict.WITHIN


@pytest.mark.parametrize(
    ("start", "law"), [("10.98675", "ideal gas"), ("10.987", "real gas"), ("200", "real gas")]
)
def test_it_counts_as_ideal_up_to_12_bar_absolute(start: str, law: str) -> None:
    assert told(decay(LOW | {"start_pressure": start, "end_pressure": "9"}), f"Computed as {law};")


def test_it_takes_the_law_from_the_higher_end() -> None:
    rising = LOW | {"start_pressure": "10", "end_pressure": "15"}
    assert told(decay(rising), "Computed as real gas;")


def test_it_passes_no_cooling_for_a_leak() -> None:
    """The gauge fell by 5.8 bar; an ideal gas would have called 1.7 bar of it a leak."""
    result = decay(COOLING, at_most("0.02"))
    assert result.verdict == Verdict.WITHIN
    assert abs(result.values[PRESSURE_LOSS].value) < Decimal("0.004")
    assert told(
        result, "Cooling from 24 to 18 °C alone changes the pressure by -5.771 bar; the gauge moved by -5.800"
    )


def test_it_rests_nothing_on_a_temperature_that_nobody_knows_well() -> None:
    given = {name: text for name, text in COOLING.items() if name != "temperature_step"}
    for end in ("194.2", "192"):
        result = decay(given | {"end_pressure": end}, at_most("0.02"))
        assert result.verdict == Verdict.INCONCLUSIVE
        assert told(result, "Temperature made most of the change")


def test_it_sees_a_leak_that_warming_hides() -> None:
    hidden = COOLING | {"start_temperature": "18", "end_temperature": "24", "end_pressure": "200"}
    result = decay(hidden, at_most("0.1"))
    assert result.verdict == Verdict.OUTSIDE
    assert result.values[PRESSURE_LOSS].value == pytest.approx(Decimal("0.594"), abs=Decimal("0.005"))
    assert told(result, "Warming from 18 to 24 °C alone changes the pressure by +5.9")


@pytest.mark.parametrize(
    ("end_temperature", "end_pressure", "explained"),
    [
        ("20", "9.3", False),
        ("20", "9.5", False),
        ("20.1", "9.5", False),  # a change that the gauge could not show
        ("23", "9.5", True),
        ("17", "9.29", True),  # -0.1076 bar of -0.21
        ("17", "9.28", False),  # of -0.22
    ],
)
def test_it_says_where_temperature_made_most_of_it(
    end_temperature: str, end_pressure: str, explained: bool
) -> None:
    given = LOW | {"end_temperature": end_temperature, "end_pressure": end_pressure}
    assert told(decay(given), "Temperature explains or hides most of it") is explained


@pytest.mark.parametrize(
    ("end", "instrument", "doubtful"),
    [
        ("9.6", GAUGE, True),
        ("9.505", GAUGE, False),  # within what the gauge can tell
        ("9.505", None, True),
        ("9.5", None, False),
        ("9.4", None, False),
    ],
)
def test_it_doubts_gas_that_came_from_nowhere(
    end: str, instrument: Instrument | None, doubtful: bool
) -> None:
    result = decay(LOW | {"end_pressure": end}, at_most("0.05", Rule.SIMPLE), instrument=instrument)
    assert told(result, "There is more gas at the end than at the start") is doubtful
    assert result.verdict == (Verdict.INCONCLUSIVE if doubtful else Verdict.WITHIN)


@pytest.mark.parametrize(("range_high", "doubtful"), [("9.5", True), ("9.51", False)])
def test_it_doubts_the_end_of_the_scale(range_high: str, doubtful: bool) -> None:
    short = Instrument(resolution=Decimal("0.01"), range_high=Decimal(range_high))
    assert told(decay(LOW, instrument=short), "at the end of the instrument's range") is doubtful


def test_it_adds_the_air_around() -> None:
    assert told(decay(LOW), "1.01325 bar was taken")
    given = LOW | {"end_temperature": "21", "atmosphere": "800 mbar"}
    assert not told(decay(given), "was taken")
    expected = Decimal("10.3") / Decimal("293.15") + Decimal("0.2")
    assert decay(given).values[PRESSURE_LOSS].value == pytest.approx(expected / 10, abs=Decimal("1e-8"))


def test_it_gives_litres_and_grams_in_proportion_to_volume_and_mix() -> None:
    one, ten = decay(LOW), decay(LOW | {"volume": "1"})
    assert ten.values[SURFACE_LOSS].value == pytest.approx(
        one.values[SURFACE_LOSS].value * 10, rel=Decimal("1e-5")
    )
    assert ten.values[PRESSURE_LOSS].value == one.values[PRESSURE_LOSS].value
    rich = decay(LOW | {"oxygen": "40"})
    assert rich.values[MASS_LOSS].value > one.values[MASS_LOSS].value * Decimal("1.02")


def test_it_takes_other_units_and_temperatures_below_zero() -> None:
    given = LOW | {
        "start_pressure": "3000 psi",
        "end_pressure": "20 MPa",
        "volume": "500 mL",
        "start_temperature": "-5",
    }
    assert decay(given).values[PRESSURE_LOSS].value > 0


@pytest.mark.parametrize("key", [ask.key for ask in DECAY.asks if not ask.optional])
def test_it_asks_for_each_figure(key: str) -> None:
    with pytest.raises(BadFigures) as caught:
        decay(without(key))
    assert [name for name, _ in caught.value.reasons] == [key]


@pytest.mark.parametrize("key", [ask.key for ask in DECAY.asks])
@pytest.mark.parametrize("text", ["-99", "999999", "NaN", "inf", "1e3", "1,5", "x"])
def test_it_refuses_what_cannot_be_meant(key: str, text: str) -> None:
    with pytest.raises(BadFigures) as caught:
        decay(LOW | {key: text})
    assert [name for name, _ in caught.value.reasons] == [key]


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("start_pressure", "0", "Pressure at the start is to be 0.001 to 350 bar."),
        ("minutes", "0", "Time between is to be 0.1 to 100000 min."),
        ("volume", "0", "Volume is to be 0.001 to 1000 L."),
        ("oxygen", "0", "Share of oxygen is to be 21 to 40 %."),
        ("oxygen", "20.9", "Share of oxygen is to be 21 to 40 %."),
        ("oxygen", "40.1", "Share of oxygen is to be 21 to 40 %."),
        ("start_temperature", "-15.1", "Temperature at the start, °C is to be -15 to 60."),
        ("end_temperature", "60.1", "Temperature at the end, °C is to be -15 to 60."),
        ("end_temperature", "20 K", "Temperature at the end, °C: '20 K' is to be a number without a unit."),
        ("atmosphere", "0.4", "Pressure of the air around is to be 0.5 to 1.1 bar."),
        ("temperature_step", "0", "Step of the thermometer, °C is to be 0.001 to 10."),
        ("start_pressure", "349", "With the air around it is 350.013 bar; 1 to 350 bar can be computed."),
    ],
)  # fmt: skip
def test_it_says_what_it_refuses(key: str, text: str, said: str) -> None:
    with pytest.raises(BadFigures) as caught:
        decay(LOW | {key: text})
    assert caught.value.reasons == ((key, said),)


def test_it_tells_every_reason_at_once() -> None:
    with pytest.raises(BadFigures) as caught:
        decay(LOW | {"minutes": "0", "volume": "0"})
    assert [key for key, _ in caught.value.reasons] == ["minutes", "volume"]
    with pytest.raises(BadFigures) as caught:
        decay(LOW | {"start_pressure": "350", "end_pressure": "0", "atmosphere": "0.9"})
    assert [key for key, _ in caught.value.reasons] == ["start_pressure", "end_pressure"]


def test_it_takes_the_ends_of_its_range() -> None:
    ends = LOW | {
        "start_pressure": "0.001",
        "end_pressure": "0",
        "atmosphere": "0.5",
        "temperature_step": "10",
    }
    assert decay(ends).values[PRESSURE_LOSS].value == Decimal("0.0001")
    full = {
        "start_pressure": "348.98",
        "end_pressure": "0",
        "start_temperature": "-15",
        "end_temperature": "60",
    }
    assert decay(LOW | full | {"oxygen": "40"}).values[MASS_LOSS].value > 0
