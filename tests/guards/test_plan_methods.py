"""What a plan may name is what the bench can measure: the catalogue may not import the bench, so a guard compares them."""

import json
from pathlib import Path

import pytest

from jobs.bench.methods import METHODS
from jobs.bench.methods.units import UNITS, convert
from jobs.bench.shapes import TestIn
from shop.catalogue.rules import METHODS as NAMED
from shop.catalogue.rules import plan_refusals, read_plan
from shop.catalogue.shapes import BoundShape, PlanShape
from shop.instruments.shapes import InstrumentIn
from tests.conftest import ROOT

PLANS = sorted((ROOT / "fixtures" / "plans").glob("*.json"))


def choices(field: object) -> set[str]:
    """The units that a field takes."""
    return set(field.choices) - {""}  # type: ignore[attr-defined]  # every field given here is a ChoiceField


def test_it_works() -> None:
    assert {name: method.quantities for name, method in METHODS.items()} == NAMED


def test_it_finds_every_unit_of_a_plan_at_the_bench() -> None:
    assert choices(BoundShape().fields["unit"]) - set(UNITS) == set()
    assert choices(TestIn().fields["unit"]) - set(UNITS) == set()
    assert choices(InstrumentIn().fields["unit"]) - set(UNITS) == set()


def test_it_finds_every_unit_of_a_method_in_a_plan() -> None:
    wanted = {unit for method in METHODS.values() for unit in method.quantities.values()}

    assert wanted - choices(BoundShape().fields["unit"]) == set()


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_it_finds_the_shipped_plans_sound(path: Path) -> None:
    document = json.loads(path.read_text())
    shape = PlanShape(data=document)
    plan = read_plan(document)

    assert shape.is_valid(), shape.errors
    assert plan_refusals(plan) == []
    for test in plan.tests:
        for bound in test.bounds:
            assert convert("1", bound.unit, bound.unit) == 1
