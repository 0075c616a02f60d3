"""Tests that ask for figures, over both doors: worked out at once, kept as typed, condemned for good."""

from datetime import timedelta
from typing import Any

import pytest

from jobs.bench.models import Attempt
from shop.catalogue.actions import add_model, issue_plan
from shop.instruments.actions import add_instrument, calibrate
from shop.staff.actions import authorise
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.plans import document
from tests.rows import codes, nothing_changes, said
from tests.walk import Walk, ok

JACKET = {"required_pressure": "4000", "pressure": "4000", "total": "56.3", "permanent": "0.3"}
GAUGE = {"span": "400", "rows": "0 0 0\n100 101 102\n200 203 204\n400 398 398"}


def brought(
    house: House, api: dict[str, Api], kind: str, plan: str, needs: str, unit: str, step: str
) -> Walk:
    """An item of a kind on its tests, with the instrument that its plan needs."""
    lead = house.people["lead"]
    for role in ("technician", "inspector"):
        who = house.people[role]
        authorise(by=lead, person=who, maker="Tarnwell", kind=kind, last_day=None, cylinders=True)
    house.models[kind] = add_model(by=lead, maker="Tarnwell", name="Marl", revision="", kind=kind, design="")
    made = document(plan) | {"legs": ["testing"], "steps": [], "parts": []}
    house.plans[kind] = issue_plan(by=lead, model=house.models[kind], key="test", document=made)
    row = add_instrument(by=lead, code=needs[:9], name=needs, kind=needs, unit=unit, resolution=step)
    day = today()
    calibrate(by=lead, instrument=row, done_on=day, good_to=day + timedelta(days=9), certificate="C-7")
    house.instruments[needs] = row
    walk = Walk(house, api, kind)
    ok(walk.go_ahead(), 201)
    ok(walk.assign())
    ok(walk.move("cleared", role="counter"))
    ok(walk.move("testing"))
    return walk


def tried(walk: Walk, key: str, figures: dict[str, str], needs: str, role: str = "technician") -> Any:
    given = {"phase": "final", "instrument": str(walk.house.instruments[needs].uid), "figures": figures}
    return walk.api[role].post(f"jobs/{walk.job}/tests/{key}", given)


@pytest.fixture
def cylinder(house: House, api: dict[str, Api]) -> Walk:
    ok(api["lead"].post("cylinder-tests", {"tested_by": "ourselves"}))
    return brought(house, api, "cylinder", "cylinder_pressure_test", "expansion device", "ml", "0.1")


@pytest.fixture
def gauge(house: House, api: dict[str, Api]) -> Walk:
    return brought(house, api, "submersible_gauge", "submersible_gauge", "master gauge", "bar", "0.5")


@pytest.mark.parametrize(
    ("permanent", "total", "verdict"),
    [("0.3", "56.3", "within"), ("6.0", "60.0", "within"), ("1.12", "11.2", "within"), ("5.6", "55.0", "condemn")],
)  # fmt: skip
def test_it_works(cylinder: Walk, permanent: str, total: str, verdict: str) -> None:
    """Exactly 10 % does not exceed 10 %; above it the cylinder is condemned."""
    body = ok(
        tried(cylinder, "expansion", JACKET | {"permanent": permanent, "total": total}, "expansion device"),
        201,
    )

    assert body["verdict"] == verdict
    assert Attempt.objects.get().figures == JACKET | {"permanent": permanent, "total": total}


def test_it_keeps_nothing_of_what_was_left_empty(cylinder: Walk) -> None:
    ok(tried(cylinder, "expansion", JACKET | {"rejection_elastic": " "}, "expansion device"), 201)

    assert Attempt.objects.get().figures == JACKET


def test_it_judges_a_gauge_row_by_row(gauge: Walk) -> None:
    body = ok(tried(gauge, "accuracy", GAUGE, "master gauge"), 201)

    assert body["verdict"] == "within"
    values = body["result"]["values"]
    assert [float(values[name]["value"]) for name in ("error rising", "error falling", "hysteresis")] == [
        0.75,
        1.0,
        0.25,
    ]


def test_it_keeps_a_condemned_cylinder_condemned(cylinder: Walk) -> None:
    ok(tried(cylinder, "expansion", JACKET | {"permanent": "9"}, "expansion device"), 201)
    ok(tried(cylinder, "expansion", JACKET, "expansion device"), 201)

    with nothing_changes():
        assert "condemned" in codes(cylinder.sign())


@pytest.mark.parametrize(
    ("figures", "wrong"),
    [
        (JACKET | {"total": ""}, ["/figures/total"]),
        (JACKET | {"total": "a lot", "permanent": "-1"}, ["/figures/total"]),
        (JACKET | {"permanent": "99"}, ["/figures/permanent"]),
        (JACKET | {"colour": "grey"}, ["/figures"]),
        (JACKET | {"a/~b": "x"}, ["/figures"]),
        ({}, ["/figures"]),
    ],
)
def test_it_refuses_figures_that_cannot_be_read(
    cylinder: Walk, figures: dict[str, str], wrong: list[str]
) -> None:
    with nothing_changes():
        answer = tried(cylinder, "expansion", figures, "expansion device")

    assert answer.status_code == 409
    assert [each["pointer"] for each in answer.json()["errors"]] == wrong


def test_it_refuses_what_is_no_text(cylinder: Walk) -> None:
    with nothing_changes():
        answer = tried(cylinder, "expansion", {"total": ["1"]}, "expansion device")  # type: ignore[dict-item]  # on purpose
    assert answer.status_code == 400


def test_it_shows_what_was_typed_and_what_came_of_it(cylinder: Walk, pages: dict[str, Any]) -> None:
    """By page: each figure has its own control, and what was wrong comes back with what was typed."""
    path = f"/jobs/{cylinder.job}/tests/expansion"
    page = said(pages["technician"].get(path), 200)
    assert 'name="figures.total"' in page
    instrument = str(cylinder.house.instruments["expansion device"].uid)
    given = {"phase": "final", "instrument": instrument, "once": "a"}
    given |= {f"figures.{key}": text for key, text in JACKET.items()}
    page = said(pages["technician"].post(path, given | {"figures.total": "much"}), 409)
    assert 'value="much"' in page
    assert 'href="#figures-total"' in page

    answer = pages["technician"].post(path, given | {"once": "b"})

    shown = said(pages["technician"].get(answer["Location"]), 200)
    assert "Permanent expansion, of the total" in shown
    assert ">0.532860 %" in shown
    assert "56.3" in shown


def test_it_states_what_was_typed_on_the_record(cylinder: Walk, pages: dict[str, Any]) -> None:
    for key in ("visual", "held"):
        ok(cylinder.api["technician"].post(f"jobs/{cylinder.job}/tests/{key}", {"phase": "final", "finding": "pass"}), 201)  # fmt: skip
    ok(tried(cylinder, "expansion", JACKET, "expansion device"), 201)
    record = ok(cylinder.sign(), 201)["uid"]

    assert "Total expansion 56.3" in said(pages["counter"].get(f"/records/{record}"), 200)
    assert pages["counter"].get(f"/records/{record}/record.pdf").status_code == 200


@pytest.mark.parametrize(("accuracy", "verdict"), [("", "within"), ("2", "inconclusive")])
def test_it_takes_the_accuracy_of_the_instrument_into_the_interval(
    house: House, api: dict[str, Api], accuracy: str, verdict: str
) -> None:
    """2 % of 40 bar is 0.8 bar either way, as a standard uncertainty 0.46 bar: 9.42 bar is not safely below 10."""
    house.instruments["pressure logger"].full_scale = "40"
    house.instruments["pressure logger"].accuracy = accuracy
    house.instruments["pressure logger"].save()
    walk = Walk(house, api).to("testing")

    assert ok(walk.reading("low_supply", "9.42"), 201)["verdict"] == verdict


def test_it_rests_no_verdict_on_the_end_of_a_scale(house: House, api: dict[str, Api]) -> None:
    house.instruments["pressure logger"].full_scale = "9.42"
    house.instruments["pressure logger"].save()
    walk = Walk(house, api).to("testing")

    assert ok(walk.reading("low_supply", "9.42"), 201)["verdict"] == "inconclusive"
