"""Grease and the like: a plan names how much of it a service uses, and it is taken out of a lot like any other part."""

import json
from typing import Any

import pytest

from jobs.tray.rules import measured_refusals
from shop.catalogue.actions import issue_plan
from shop.catalogue.rules import LoosePart, plan_refusals, read_plan
from shop.gases.rules import Gas
from shop.stock.actions import add_part, receive, state_fitness
from shop.stock.models import Lot
from tests.conftest import ROOT, Api, House
from tests.rows import codes, nothing_changes, said, sentences
from tests.walk import Walk, ok

GREASE = LoosePart("grease", "Grease for the seals", 2, "other", "GR-1", unit="g")
RING = LoosePart("ring", "Ring", 1, "ring", "TH-302")


def document(**changes: Any) -> Any:
    """The plan of a first stage that uses 2 g of grease, laid out with the parts of its first step that frees any."""
    made = json.loads((ROOT / "fixtures" / "plans" / "first_stage.json").read_text())
    given = {"key": "grease", "name": GREASE.name, "count": 2, "shape": "other", "renew": "GR-1", "unit": "g"}
    made["parts"].append(given | changes)
    next(step for step in made["steps"] if step["frees"])["frees"].append("grease")
    return made


@pytest.mark.parametrize(
    ("part", "ending", "origin", "unit", "found"),
    [
        (GREASE, "renewed", "stock", "g", []),
        (GREASE, "renewed", "nothing yet", None, []),
        (GREASE, "reused", "itself", None, ["measured-out"]),
        (GREASE, "lost", "nothing yet", None, ["measured-out"]),
        (GREASE, "renewed", "customer's own", None, ["measured-out"]),
        (GREASE, "renewed", "stock", "ml", ["unit-differs"]),
        (RING, "renewed", "stock", "piece", []),
        (RING, "renewed", "stock", "g", ["unit-differs"]),
        (RING, "reused", "itself", None, []),
    ],
)
def test_how_it_may_end(
    part: LoosePart, ending: str, origin: str, unit: str | None, found: list[str]
) -> None:
    assert [each.code for each in measured_refusals(part, ending, origin, unit)] == found


def test_a_plan_says_of_which_part_it_is_measured_out() -> None:
    assert plan_refusals(read_plan(document())) == []
    (found,) = plan_refusals(read_plan(document(renew="")))
    assert found.sentence == "Grease for the seals is measured out: name its stock part."


@pytest.fixture
def tube(house: House) -> Lot:
    """A tube of 30 g, for air, and a plan that uses 2 g."""
    store, lead = house.people["storekeeper"], house.people["lead"]
    given: dict[str, Any] = {"material": "", "life_months": None, "life_source": ""}
    part = add_part(by=store, number="GR-1", name="Grease", unit="g", **given)
    model = house.models["first_stage"]
    house.plans["first_stage"] = issue_plan(by=lead, model=model, key="overhaul", document=document())
    house.lots["GR-1"] = receive(by=store, part=part, number="T-7", cured="", quantity=30)
    return house.lots["GR-1"]


@pytest.fixture
def walk(house: House, api: dict[str, Api], tube: Lot) -> Walk:
    """A first stage that is apart: nobody counts the grease among its loose parts."""
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    return walk


def test_it_works(walk: Walk, tube: Lot, pages: dict[str, Any]) -> None:
    """It stands on the record with its lot, 2 g of it, and on the page of the lot."""
    job = f"/jobs/{walk.job}"
    assert "Grease for the seals</a>, 2 g" in said(pages["technician"].get(job), 200)
    form = said(pages["technician"].get(f"{job}/parts/grease"), 200)
    assert "Grease for the seals, 2 g: by the plan it is measured out of part GR-1." in form
    assert "T-7, 30 g, without a last day" in form

    made = ok(walk.end("grease"), 201)

    assert (made["count"], made["unit"], made["lot"]) == (2, "g", "T-7")
    tube.refresh_from_db()
    assert tube.on_hand == 28
    trace = ok(walk.api["counter"].get(f"lots/{tube.uid}/trace"))
    assert [(row["count"], row["unit"], row["key"]) for row in trace["fitted"]] == [(2, "g", "grease")]
    sheet = ok(walk.api["counter"].get(f"jobs/{walk.job}/sheet"))
    assert [(row["count"], row["unit"]) for row in sheet["parts"] if row["key"] == "grease"] == [(2, "g")]
    assert ">2 g<" in said(pages["counter"].get(f"/store/lots/{tube.uid}"), 200)


def test_it_stands_on_the_record(walk: Walk) -> None:
    walk.parts()
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    for leg in ("rebuilding", "testing"):
        ok(walk.move(leg))
        walk.steps(leg)
    walk.tests()
    signed = ok(walk.sign(), 201)
    (part,) = [each for each in signed["record"]["parts"] if each["unit"] == "g"]
    assert (part["count"], part["part"], part["lot"], part["ending"]) == (2, "GR-1", "T-7", "renewed")


def test_it_is_not_reused_and_not_rebuilt_without(walk: Walk) -> None:
    with nothing_changes():
        assert codes(walk.end("grease", ending="reused")) == ["measured-out", "must-renew", "lot-unasked"]
        assert "measured-out" in codes(walk.end("grease", ending="missing on arrival"))


def test_it_is_refused_where_it_is_not_fit_for_the_gas(walk: Walk, tube: Lot) -> None:
    """A lubricant is a part too: for enriched air it must be stated to be fit."""
    walk.item.refresh_from_db()
    ok(walk.api["counter"].post(f"items/{walk.item.uid}/gas", {"oxygen": "32"}, seen=walk.item.version))
    with nothing_changes():
        refused = walk.end("grease")
    assert codes(refused) == ["unfit-for-gas"]
    assert sentences(refused)[0].startswith("Part GR-1 is not fit for enriched air")

    given: Any = {"by": walk.house.people["storekeeper"], "part": tube.part, "seen": 1}
    state_fitness(**given, fit_for=[Gas.AIR, Gas.ENRICHED], fit_source="a sheet")
    ok(walk.end("grease"), 201)


def test_a_lot_that_is_counted_otherwise_does_not_stand_for_it(walk: Walk) -> None:
    """Neither grease for a ring nor a ring for grease, whatever the lead would override."""
    with nothing_changes():
        assert codes(walk.end("grease", lot="TH-302")) == ["unit-differs", "wrong-part"]
        assert codes(walk.end("yoke_ring", lot="GR-1")) == ["unit-differs", "wrong-part"]
