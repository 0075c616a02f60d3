"""What a verdict may rest on besides our own instrument: an outside station's certificate, or a finding by eye."""

import json
from copy import deepcopy
from typing import Any

import pytest

from jobs.signoff.models import SignOff
from shop.catalogue.actions import issue_plan
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers
from tests.walk import Walk, ok

STATION = {"station": "Aldermouth Test House", "certificate": "ATH-118"}


def measured(walk: Walk, key: str, role: str = "technician", **given: Any) -> Any:
    return walk.api[role].post(f"jobs/{walk.job}/tests/{key}", {"phase": "final"} | given)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    document = deepcopy(house.plans["second_stage"].document)
    document["tests"][1]["bounds"][0]["decision"] = "simple"
    house.plans["second_stage"] = issue_plan(
        by=house.people["lead"], model=house.models["second_stage"], key="overhaul", document=document
    )
    walk = Walk(house, api, "second_stage").to("testing")

    # A certificate that does not state its uncertainty cannot bear a guarded decision.
    guarded = ok(measured(walk, "cracking", figures={"first": "3.1"}, **STATION), 201)
    assert guarded["verdict"] == "inconclusive"
    ok(walk.reading("cracking", "3.1", "mbar"), 201)
    simple = ok(measured(walk, "exhalation", figures={"first": "4.2"}, **STATION), 201)
    assert simple["verdict"] == "within"
    ok(walk.sign(), 201)

    *_, test = json.loads(SignOff.objects.get().record)["tests"]
    assert (test["station"], test["certificate"], test["instrument"]) == (*STATION.values(), "")


def test_it_takes_a_certificate_or_an_instrument_and_not_both(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api, "second_stage").to("testing")
    gauge = {"instrument": str(house.instruments["low-pressure gauge"].uid)}
    reading: dict[str, Any] = {"figures": {"first": "3.1"}}

    with nothing_changes():
        assert codes(measured(walk, "cracking", **reading)) == ["instrument-missing"]
        assert codes(measured(walk, "cracking", **reading, **gauge, **STATION)) == ["two-sources"]
        assert codes(measured(walk, "cracking", **reading, station="A house")) == ["certificate-missing"]


@pytest.fixture
def inspected(house: House, api: dict[str, Api]) -> Walk:
    """A first stage whose plan asks for one finding by eye."""
    document = deepcopy(house.plans["first_stage"].document)
    document["tests"] = [
        {"key": "look", "title": "Sealing edges", "method": "finding", "repeat": "last", "needs": "", "bounds": [],
         "words": "Pass when no edge is scratched."},
    ]  # fmt: skip
    house.plans["first_stage"] = issue_plan(
        by=house.people["lead"], model=house.models["first_stage"], key="overhaul", document=document
    )
    return Walk(house, api).to("testing")


def test_it_passes_by_eye(inspected: Walk) -> None:
    with nothing_changes():
        assert codes(inspected.sign()) == ["not-tested"]
        assert codes(measured(inspected, "look", reading="3", unit="bar")) == ["wrong-input"]
        assert pointers(measured(inspected, "look", finding="fine")) == ["/finding"]
    ok(measured(inspected, "look", finding="reject"), 201)
    with nothing_changes():
        assert codes(inspected.sign()) == ["not-within"]
    ok(measured(inspected, "look", finding="pass", why_again="It was polished."), 201)

    ok(inspected.sign(), 201)


def test_it_never_takes_a_condemnation_back(inspected: Walk) -> None:
    ok(measured(inspected, "look", finding="condemn"), 201)
    ok(measured(inspected, "look", finding="pass", why_again="Looked again."), 201)

    with nothing_changes():
        assert codes(inspected.sign()) == ["condemned"]
    ok(inspected.sign(outcome="condemned", words="A crack.", second=None, second_secret=""), 201)
