"""Records: JSON-safe, and computed again to the same verdict."""

import json
import sys
from dataclasses import is_dataclass
from decimal import Decimal

from jobs.bench.methods import METHODS, breathing_loop, intermediate_pressure, typed_reading
from jobs.bench.methods.records import estimate_from, instrument_from, limit_from, to_record, unlimited
from jobs.bench.methods.verdicts import Instrument, Limit
from tests.bench.methods.breathing import angles, resisting, sinus, timed
from tests.bench.methods.purges import LIMITS, purge

GAUGE = Instrument(resolution=Decimal("0.01"), range_high=Decimal(25))


def test_it_works() -> None:
    record = to_record(
        typed_reading.judge("9.5", "bar", Limit("lock-up", "bar", high=Decimal("10.0")), GAUGE)
    )
    assert record == {
        "method": "typed reading",
        "version": "1",
        "verdict": "within",
        "text": "9.5",
        "unit": "bar",
        "value": "9.5",
        "uncertainty": "0.0058",
        "decisions": {
            "lock-up": {
                "verdict": "within",
                "sentence": "Lock-up 9.5 bar, 95 % interval 9.4942 to 9.5058 bar, is within: limit at most 10.0 bar.",
            }
        },
        "warnings": [],
        "limits": [
            {
                "quantity": "lock-up",
                "unit": "bar",
                "low": None,
                "high": "10.0",
                "low_inclusive": True,
                "high_inclusive": True,
                "decision": "guarded",
                "source": "",
                "edition": "",
                "printed": "",
            }
        ],
        "instrument": {"resolution": "0.01", "range_high": "25", "standard_uncertainty": None},
    }


def test_it_computes_a_stored_trace_verdict_again() -> None:
    trace = purge()
    stored = json.loads(json.dumps(to_record(intermediate_pressure.judge(trace, LIMITS, GAUGE))))
    limits = [limit_from(limit) for limit in stored["limits"]]
    again = METHODS[stored["method"]].judge(trace, limits, instrument_from(stored["instrument"]))
    assert to_record(again) == stored
    assert tuple(limits) == LIMITS


def test_it_finds_value_and_interval_in_every_kind_of_record() -> None:
    typed = to_record(typed_reading.judge("9.5", "bar", Limit("lock-up", "bar", high=Decimal(10)), GAUGE))
    assert estimate_from(typed, "lock-up") == ("9.5", "9.4942", "9.5058")
    assert estimate_from(typed | {"uncertainty": None}, "lock-up") == ("9.5", "9.5", "9.5")
    logged = to_record(intermediate_pressure.judge(purge(), LIMITS))
    creep = logged["figures"]["creep_bar_min"]
    assert estimate_from(logged, "creep") == (creep["value"], creep["low"], creep["high"])
    short = to_record(intermediate_pressure.judge(purge(seconds=20.0), LIMITS))
    assert estimate_from(short, "creep") is None


def test_it_finds_what_was_measured_without_a_limit() -> None:
    work = Limit("work of breathing", "J_l", high=Decimal(3))
    breaths = timed(angles(200, 2), resisting(angles(200, 2)))
    record = to_record(breathing_loop.judge(breaths, [work]))
    value = record["figures"]["values"]["work of breathing"]
    assert estimate_from(record, "work of breathing") == (value["value"], value["low"], value["high"])
    assert estimate_from(record, "colour") is None
    rest = {name: (unit, sides) for name, unit, sides in unlimited(record)}
    assert set(rest) == set(record["figures"]["values"]) - {"work of breathing"}
    assert rest["minute volume"][0] == "l_min"
    alone = to_record(breathing_loop.judge(sinus(angles(200), resisting(angles(200))), [work]))
    assert estimate_from(alone, "work of breathing") == ("1.5705", "", "")


def test_it_writes_numbers_as_decimal_strings() -> None:
    figures = to_record(intermediate_pressure.judge(purge(), LIMITS))["figures"]
    assert figures["released_s"] == "5.00"
    assert figures["steps_are_coarse"] is False
    assert set(figures["creep_bar_min"]) == {"value", "low", "high"}
    assert not any(isinstance(value, float) for value in figures.values())


def test_it_finds_each_method_by_its_name() -> None:
    assert all(name == method.name and method.version for name, method in METHODS.items())
    taken = {
        takes: sorted(name for name, each in METHODS.items() if each.takes == takes)
        for takes in sorted({each.takes for each in METHODS.values()})
    }
    assert taken == {
        "figures": [
            "air analysis", "breathing effort", "bubble count", "function list", "gauge check", "lock-up over supply", "pressure decay",
            "proof pressure", "thread check", "two depth gauges", "volumetric expansion",
        ],
        "finding": ["finding"],
        "reading": ["typed reading"],
        "trace": ["breathing loop", "intermediate pressure"],
    }  # fmt: skip
    assert METHODS["intermediate pressure"].quantities == {
        "lock-up": "bar",
        "time to lock up": "s",
        "creep": "bar_min",
        "drop under purge": "bar",
    }


def test_it_reads_an_instrument_in_the_unit_of_each_method() -> None:
    found: dict[str, list[str]] = {}
    for name, method in METHODS.items():
        found.setdefault(method.unit, []).append(name)
    assert found == {
        "bar": [
            "intermediate pressure", "lock-up over supply", "proof pressure", "pressure decay", "bubble count", "gauge check",
        ],
        "mbar": ["breathing loop", "breathing effort"],
        "ml": ["volumetric expansion"],
        "m": ["two depth gauges"],
        "percent": ["air analysis"],
        "": ["typed reading", "finding", "function list", "thread check"],
    }  # fmt: skip


def test_nothing_that_a_method_gives_back_can_be_changed() -> None:
    found = {
        each
        for name, module in sys.modules.items()
        if name.startswith("jobs.bench.methods")
        for each in vars(module).values()
        if isinstance(each, type) and is_dataclass(each) and each.__module__.startswith("jobs.bench.methods")
    }
    assert len(found) > 30
    assert [each.__qualname__ for each in found if not vars(each)["__dataclass_params__"].frozen] == []
