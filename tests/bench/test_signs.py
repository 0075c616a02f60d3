"""What a stored result shows that advice answers to: quantity, test or function, and on which side."""

import json
from decimal import Decimal
from typing import Any

import pytest

from jobs.bench.methods import finding, function_list, intermediate_pressure, typed_reading
from jobs.bench.methods.judging import NOTHING_MEASURED
from jobs.bench.methods.records import to_record
from jobs.bench.methods.traces import parse_csv
from jobs.bench.methods.verdicts import Instrument, Limit
from jobs.bench.rules import signs
from shop.catalogue.rules import Function
from tests.conftest import TRACES

CREEP = Limit("creep", "bar_min", high=Decimal("0.05"))
GAUGE = Instrument(resolution=Decimal("0.05"))


def stored(result: Any) -> dict[str, Any]:
    record: dict[str, Any] = json.loads(json.dumps(to_record(result)))
    return record


def traced(name: str, *limits: Limit) -> dict[str, Any]:
    return stored(intermediate_pressure.judge(parse_csv((TRACES / f"{name}.csv").read_text()), limits))


@pytest.mark.parametrize(
    ("name", "limits", "shown"),
    [
        ("creep_0p02", [CREEP], set()),
        ("creep_0p10", [CREEP], {("creep", "above"), ("ip", "above")}),
        ("falling", [CREEP], {("creep", "below"), ("ip", "below")}),
        ("oscillating", [Limit("lock-up", "bar", high=Decimal(9))], {("lock-up", "above"), ("ip", "above"), ("hunting", "seen")}),
        ("flat", [Limit("lock-up", "psi", low=Decimal(150))], {("lock-up", "below"), ("ip", "below")}),
        ("short_noisy", [CREEP], {("creep", "below"), ("ip", "below")}),
    ],
)  # fmt: skip
def test_it_works(name: str, limits: list[Limit], shown: set[tuple[str, str]]) -> None:
    assert signs(traced(name, *limits), "ip") == shown


@pytest.mark.parametrize(("read", "side"), [("4.2", "above"), ("2.0", "below"), ("3.73", "above")])
def test_it_names_a_typed_reading_by_its_test(read: str, side: str) -> None:
    limit = Limit("effort", "mbar", low=Decimal("2.49"), high=Decimal("3.74"))
    record = stored(typed_reading.judge(read, "mbar", limit, GAUGE))
    assert signs(record, "cracking") == {("effort", side), ("cracking", side)}


def test_it_names_the_functions_that_failed() -> None:
    functions = (Function("shuts", "It shuts"), Function("opens", "It opens", "mbar"), Function("on", "On"))
    limits = [Limit("opens", "mbar", high=Decimal(200))]
    typed = {"shuts": "fail", "opens": "pass", "opens_figure": "250", "on": "pass"}
    record = stored(function_list.judge(functions, typed, limits, {"opens": GAUGE}))
    assert signs(record, "function") == {("shuts", "failed"), ("opens", "above")}


@pytest.mark.parametrize(("word", "shown"), [("pass", set()), ("reject", {("look", "failed")})])
def test_it_names_a_finding_by_its_test(word: str, shown: set[tuple[str, str]]) -> None:
    assert signs(to_record(finding.judge(word)) | NOTHING_MEASURED, "look") == shown
