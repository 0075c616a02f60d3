"""The record of a breathing machine, sent by a door: read, judged, drawn, and shown beside what others publish."""

from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from django.core.files.base import ContentFile

from jobs.bench.models import Attempt
from shop.catalogue.actions import add_model, issue_plan
from shop.instruments.actions import add_instrument, calibrate
from shop.staff.actions import authorise
from shop.workshop.reads import today
from tests.bench.methods.breathing import angles, resisting
from tests.conftest import Api, House
from tests.plans import document
from tests.rows import nothing_changes, said, sentences
from tests.walk import Walk, ok

LIMIT = {"quantity": "work of breathing", "label": "Work of breathing", "unit": "J_l", "low": "", "high": "3"}
ASKED: dict[str, Any] = {
    "key": "loop",
    "title": "Breathing loop at 62.5 L/min",
    "method": "breathing loop",
    "repeat": "last",
    "needs": "mouth pressure sensor",
    "bounds": [LIMIT | {"decision": "guarded", "source": "Entered by the workshop."}],
}


@pytest.fixture
def second_stage(house: House, api: dict[str, Api]) -> Walk:
    """A second stage on its only test, a breathing loop."""
    lead = house.people["lead"]
    authorise(
        by=lead, person=house.people["technician"], maker="Tarnwell", kind="second_stage", last_day=None
    )
    model = add_model(by=lead, maker="Tarnwell", name="Marl", revision="", kind="second_stage", design="")
    made = document("second_stage") | {"legs": ["testing"], "steps": [], "parts": [], "tests": [ASKED]}
    house.models["second_stage"], needs = model, ASKED["needs"]
    house.plans["second_stage"] = issue_plan(by=lead, model=model, key="loop", document=made)
    sensor = add_instrument(by=lead, code="MP-1", name="mouth", kind=needs, unit="mbar", resolution="0.01")
    calibrate(
        by=lead, instrument=sensor, done_on=today(), good_to=today() + timedelta(days=9), certificate="C"
    )
    house.instruments["mouth"] = sensor
    walk = Walk(house, api, "second_stage")
    ok(walk.go_ahead(), 201)
    ok(walk.assign())
    ok(walk.move("cleared", role="counter"))
    ok(walk.move("testing"))
    return walk


def machine(mbar: float = 10.0) -> str:
    """Four breaths of 2.5 L; the work is pi / 20 J/L for each mbar of a resistance that grows with the flow."""
    angle = angles(200, 4)
    rows = zip(1.25 * (1 - np.cos(angle)), resisting(angle, 1.0, mbar, mbar), strict=True)
    return "v_l,p_mbar\n" + "".join(f"{litres:.6f},{pressure:.5f}\n" for litres, pressure in rows)


def sent(walk: Walk, text: str) -> Any:
    given = {"phase": "final", "instrument": str(walk.house.instruments["mouth"].uid)}
    given |= {"trace": ContentFile(text.encode(), "loop.csv")}  # type: ignore[dict-item]  # a file among texts
    return walk.api["technician"].post(f"jobs/{walk.job}/tests/loop", given, format="multipart")


@pytest.mark.parametrize(("mbar", "verdict"), [(10.0, "within"), (25.0, "outside")])
def test_it_works(second_stage: Walk, mbar: float, verdict: str) -> None:
    body = ok(sent(second_stage, machine(mbar)), 201)

    assert body["verdict"] == verdict
    value = body["result"]["figures"]["values"]["work of breathing"]["value"]
    assert float(value) == pytest.approx(np.pi / 20 * mbar, rel=0.0002)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("t_s,p_bar\n0,9\n", "Line 1 must be one of v_l,p_mbar; t_s,flow_l_s,p_mbar"),
        ("v_l,p_mbar\n" + "0.1,nan\n" * 20, "'nan' is not a number"),
        (machine().replace("2.5", "2500."), "is beyond reason"),
    ],
)
def test_it_refuses_what_is_no_loop(second_stage: Walk, text: str, reason: str) -> None:
    with nothing_changes():
        answer = sent(second_stage, text)
    assert answer.status_code == 409
    assert any(reason in each for each in sentences(answer)), sentences(answer)


def test_it_draws_the_loop_beside_what_others_publish(second_stage: Walk, pages: dict[str, Any]) -> None:
    page = said(pages["technician"].get(f"/jobs/{second_stage.job}/tests/loop"), 200)
    assert "CSV, JSON or float32, with the columns v_l,p_mbar or t_s,flow_l_s,p_mbar." in page
    uid = ok(sent(second_stage, machine()), 201)["uid"]

    shown = said(pages["technician"].get(f"/attempts/{uid}"), 200)

    assert "Breathing loop, 4 of 4 breaths drawn; work of breathing 1.57" in shown
    assert ">-10.000 mbar, 95 % interval" in shown
    assert "Published limits, for comparison only" in shown
    assert "Type approval on a breathing simulator" in shown
    assert "claims conformity with no standard" in shown
    picture = Attempt.objects.get().picture
    assert picture is not None
    assert picture["fit"]


def test_it_stands_on_the_record(second_stage: Walk, pages: dict[str, Any]) -> None:
    ok(sent(second_stage, machine()), 201)
    record = ok(second_stage.sign(), 201)["uid"]

    assert "Breathing loop, 4 of 4 breaths drawn" in said(pages["counter"].get(f"/records/{record}"), 200)
    assert pages["counter"].get(f"/records/{record}/record.pdf").status_code == 200
