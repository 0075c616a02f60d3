"""The shipped plans: the trade's cautions stand where they belong, and no figure stands without its source."""

import json

import pytest

from shop.catalogue.rules import Plan, plan_refusals, read_plan
from shop.catalogue.shapes import PlanShape
from shop.instruments.shapes import InstrumentIn
from tests.conftest import ROOT

PLANS: dict[str, Plan] = {
    path.stem: read_plan(json.loads(path.read_text()))
    for path in sorted((ROOT / "fixtures" / "plans").glob("*.json"))
}
GENERIC = [
    "balanced_piston_first_stage",
    "bcd",
    "compressor_air",
    "computer",
    "cylinder_pressure_test",
    "cylinder_visual",
    "diaphragm_first_stage",
    "downstream_second_stage",
    "dry_suit_valves",
    "hose",
    "inflator",
    "submersible_gauge",
    "surface_supply_hose",
]
CP = "Common practice, no source."
# Each caution of the trade, and every step of the generic plans that bears it, by plan.
CAUTIONS = {
    "Only a straight hex key goes into a deep socket.": {
        "balanced_piston_first_stage": ["ports", "refit_ports"],
        "diaphragm_first_stage": ["ports", "spring", "set", "refit_ports"],
    },
    "Nothing harder than plastic or wood comes near sealing bores, seats and edges.": {
        "balanced_piston_first_stage": ["inspect", "seat_in"],
        "bcd": ["inflator"],
        "computer": ["battery"],
        "diaphragm_first_stage": ["diaphragm", "inspect", "seat_in"],
        "downstream_second_stage": ["inspect"],
        "dry_suit_valves": ["dump", "inspect"],
        "hose": ["rings"],
        "inflator": ["buttons", "inspect"],
        "submersible_gauge": ["inspect"],
    },
    "The piston is drawn along its axis.": {"balanced_piston_first_stage": ["piston"]},
    "A stuck part is blown out with low-pressure air through a rubber tip, never levered.": {
        "balanced_piston_first_stage": ["seat"],
        "bcd": ["core"],
        "diaphragm_first_stage": ["seat"],
        "downstream_second_stage": ["crown"],
        "dry_suit_valves": ["inflation"],
        "inflator": ["core"],
    },
    "The body is held by a port tool or by padded jaws that contain it, never clamp it.": {
        "balanced_piston_first_stage": ["inlet_yoke", "inlet_din", "cap", "refit_yoke", "refit_din"],
        "diaphragm_first_stage": ["inlet_yoke", "inlet_din", "diaphragm_in", "refit_yoke", "refit_din"],
    },
    "A stiff captured O-ring is normal after two years and no fault.": {
        "balanced_piston_first_stage": ["shaft_ring"],
        "diaphragm_first_stage": ["balance"],
        "submersible_gauge": ["swivel"],
    },
}


@pytest.mark.parametrize("name", GENERIC)
def test_it_works(name: str) -> None:
    document = json.loads((ROOT / "fixtures" / "plans" / f"{name}.json").read_text())
    shape = PlanShape(data=document)

    assert shape.is_valid(), shape.errors
    assert plan_refusals(PLANS[name]) == []


@pytest.mark.parametrize(("caution", "steps"), CAUTIONS.items(), ids=CAUTIONS.keys())
def test_it_finds_each_caution_of_the_trade_where_it_belongs(
    caution: str, steps: dict[str, list[str]]
) -> None:
    bearing = {
        name: [step.key for step in PLANS[name].steps if step.caution == caution]
        for name in GENERIC
        if any(step.caution == caution for step in PLANS[name].steps)
    }
    sources = {step.source for name in GENERIC for step in PLANS[name].steps if step.caution == caution}

    assert bearing == steps
    assert sources == {CP}


@pytest.mark.parametrize("name", PLANS)
def test_it_finds_a_source_beside_every_caution_and_torque(name: str) -> None:
    steps = PLANS[name].steps

    assert [step.key for step in steps if (step.caution or step.torque_n_m) and not step.source] == []


@pytest.mark.parametrize("name", GENERIC)
def test_it_finds_no_torque_in_a_generic_plan(name: str) -> None:
    assert [step.key for step in PLANS[name].steps if step.torque_n_m] == []


@pytest.mark.parametrize("name", PLANS)
def test_it_finds_every_instrument_among_those_that_can_be_added(name: str) -> None:
    known = InstrumentIn().fields["kind"].choices  # type: ignore[attr-defined]  # the field is a ChoiceField
    needed = {test.needs for test in PLANS[name].tests if test.needs}

    assert needed - set(known) == set()


def test_it_leaves_the_workshop_legs_out_of_an_inspection() -> None:
    assert PLANS["cylinder_visual"].legs == ("checked_in", "cleared", "testing", "signed_off", "handed_back")
    assert {test.method for test in PLANS["cylinder_visual"].tests} == {"finding", "thread check"}


def test_it_condemns_by_permanent_expansion_above_ten_percent() -> None:
    asked = PLANS["cylinder_pressure_test"].test("expansion")

    assert asked is not None
    (bound,) = asked.bounds
    assert (bound.low, bound.high, bound.unit, bound.decision) == ("", "10", "percent", "simple")
    assert (asked.method, bound.quantity, bound.strict) == ("volumetric expansion", "permanent share", False)
    assert "exceeds 10 %" in bound.source
    assert "from memory (high)" in bound.source
    assert asked.repeat == "all"


def test_it_lists_the_functions_of_a_jacket() -> None:
    """What 46 CFR 197.344 names but for face-up flotation, which is for the water; no limit was found with a source."""
    by_eye, figures = PLANS["bcd"].test("function"), PLANS["bcd"].test("relief")

    assert by_eye is not None
    assert [each.key for each in by_eye.functions] == [
        "manual_inflation",
        "oral_inflation",
        "over_pressure_relief",
        "manual_exhaust",
    ]
    assert figures is not None
    assert (figures.needs, figures.bounds) == ("low-pressure gauge", ())
    assert {each.unit for each in figures.functions} == {"mbar"}


def test_it_proves_only_the_hoses_that_must_be_proved() -> None:
    """1.5 times the working pressure: 29 CFR 1910.430(c) and 46 CFR 197.456, as read, for surface-supply hoses only."""
    asked = PLANS["surface_supply_hose"].test("proof")

    assert asked is not None
    (bound,) = asked.bounds
    assert (asked.method, bound.quantity, bound.low, bound.high) == (
        "proof pressure",
        "share of working pressure",
        "150",
        "",
    )
    assert "1910.430(c)" in bound.source
    assert {test.method for test in PLANS["hose"].tests} == {"function list", "finding"}


def test_it_judges_an_analysis_of_air_by_the_table_that_is_chosen() -> None:
    asked = PLANS["compressor_air"].test("air")

    assert asked is not None
    assert (asked.method, asked.bounds, asked.needs) == ("air analysis", (), "air analyser")
