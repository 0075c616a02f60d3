"""Calling a step done: the count, the leg, the torque and the person."""

from typing import Any

import pytest

from jobs.worksheet.models import StepDone
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok

MISSING = "Step 4, Lift the diaphragm out flat: 1 of 3 is missing: diaphragm, thrust plate or lifter pin?"


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    body = ok(walk.step("diaphragm"), 201)

    assert (body["key"], body["counted"], body["done_by"]) == ("diaphragm", 3, "Ines Okafor")
    row = StepDone.objects.get()
    assert row.authorisation == "Tarnwell, any kind of gear, no last day"
    assert row.done_at == row.recorded_at


def test_it_keeps_what_was_noted_and_prints_it(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk, noted = Walk(house, api).to("stripping"), "Adjuster: 3 1/4 turns <out>."
    page = f"/jobs/{walk.job}"
    assert 'name="noted"' in said(pages["technician"].get(page), 200)

    sent = {"counted": "3", "noted": noted}
    assert pages["technician"].post(f"{page}/steps/diaphragm", sent | {"once": "k"}).status_code == 302
    assert ok(walk.step("ports", noted="Plugs by hand."), 201)["noted"] == "Plugs by hand."

    assert StepDone.objects.get(key="diaphragm").noted == noted
    assert f"Noted: {noted}" in said(pages["technician"].get(f"{page}?step=diaphragm"), 200)
    assert noted in said(pages["technician"].get(f"{page}/sign-off"), 200)


def test_it_names_the_parts_when_one_is_missing(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        answer = walk.step("diaphragm", counted=2)

    assert codes(answer) == ["wrong-count"]
    assert sentences(answer) == [MISSING]
    assert answer.json()["errors"][0]["pointer"] == "/counted"


def test_it_names_the_parts_on_the_page_and_keeps_what_was_typed(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        page = send(pages["technician"], f"/jobs/{walk.job}/steps/diaphragm", {"counted": "2"})

    assert MISSING in said(page)
    assert 'value="2"' in said(page)


def test_it_refuses_one_part_too_many(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        answer = walk.step("diaphragm", counted=4)

    assert sentences(answer) == [
        "Step 4, Lift the diaphragm out flat: 4 counted, 3 expected; which one is too many?"
    ]


def test_it_refuses_a_step_without_a_count(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        assert codes(walk.step("diaphragm", counted=None)) == ["not-counted"]


def test_it_refuses_the_same_step_twice(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    ok(walk.step("ports"), 201)

    with nothing_changes():
        assert codes(walk.step("ports")) == ["done-before"]


def test_it_refuses_a_step_of_another_leg_with_every_reason(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        answer = walk.step("torque", torque_n_m="", wrench=None)

    assert codes(answer) == ["wrong-leg", "torque-missing", "wrench-missing"]


def test_it_refuses_a_step_that_the_plan_does_not_have(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        answer = api["technician"].post(f"jobs/{walk.job}/steps/polish", {"counted": 1})

    assert codes(answer) == ["no-such-step"]


def test_it_refuses_a_torque_without_a_wrench_in_calibration(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("rebuilding")
    lapsed = ok(
        api["lead"].post(
            "instruments",
            {"code": "TW-9", "name": "old wrench", "kind": "torque wrench", "unit": "N_m", "resolution": "1"},
        ),
        201,
    )
    gauge = house.instruments["pressure logger"]

    with nothing_changes():
        assert codes(walk.step("torque", wrench=lapsed["uid"])) == ["wrench-not-calibrated"]
        assert codes(walk.step("torque", wrench=str(gauge.uid))) == ["wrench-missing"]
        assert codes(walk.step("rebuild", torque_n_m="28")) == ["torque-unasked"]
        assert codes(walk.step("rebuild", wrench=lapsed["uid"])) == ["wrench-unasked"]


@pytest.mark.parametrize("torque", ["27.99", "28.01", "82", "0", "2.8"])
def test_it_refuses_another_torque_than_the_plan_asks_for(
    house: House, api: dict[str, Api], pages: dict[str, Any], torque: str
) -> None:
    walk = Walk(house, api).to("rebuilding")
    reason = f"The plan asks for 28 N·m; {torque} N·m was read off. Bring it to that, and type what the wrench shows then."
    typed = {"torque_n_m": torque, "wrench": str(house.instruments["torque wrench"].uid)}

    with nothing_changes():
        answer = walk.step("torque", torque_n_m=torque)
        page = send(pages["technician"], f"/jobs/{walk.job}/steps/torque", typed)

    assert codes(answer) == ["wrong-torque"]
    assert sentences(answer) == [reason]
    assert answer.json()["errors"][0]["pointer"] == "/torque_n_m"
    assert reason in said(page)


def test_it_takes_the_torque_of_the_plan_in_any_spelling(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("rebuilding")

    assert ok(walk.step("torque", torque_n_m="28.0"), 201)["torque_n_m"] == "28.0"


def test_it_refuses_a_count_where_nothing_comes_loose(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("rebuilding")

    with nothing_changes():
        assert codes(walk.step("rebuild", counted=0)) == ["count-unasked"]


def test_it_refuses_to_leave_stripping_with_steps_open(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    ok(walk.step("ports"), 201)

    with nothing_changes():
        answer = walk.move("cleaning")

    assert codes(answer) == ["step-open"] * 4
    assert sentences(answer)[0] == "Step 2 is not done: Take off the yoke, the filter and its O-ring."


def test_it_refuses_to_test_with_steps_open(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("rebuilding")

    with nothing_changes():
        assert sentences(walk.move("testing")) == [
            "Step 7 is not done: Rebuild with the renewed parts.",
            "Step 8 is not done: Torque the yoke retainer.",
        ]
