"""Checking in: a drop-off whole or not at all, and one open job per item."""

from typing import Any

from jobs.flow.models import DropOff, Job
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send, sentences
from tests.walk import Walk, ok


def line(house: House, item: Any, plan: str = "first_stage", **more: str) -> dict[str, str]:
    return {"item": str(item.uid), "plan": str(house.plans[plan].uid), "contents": "no gas"} | more


def check_in(house: House, api: dict[str, Api], *lines: dict[str, str], on: str = "2199-01-01") -> Any:
    data = {"customer": str(house.customer.uid), "promised_on": on, "lines": list(lines)}
    return api["counter"].post("drop-offs", data)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    first, second = house.item(), house.item("second_stage", "TH-2")

    body = ok(check_in(house, api, line(house, first), line(house, second, "second_stage")), 201)

    assert body["number"] == "C-0001"
    assert [each["tag"] for each in body["lines"]] == ["C-0001-1", "C-0001-2"]
    assert list(Job.objects.order_by("pk").values_list("number", "leg")) == [
        (1, "checked_in"),
        (2, "checked_in"),
    ]
    assert [clock.due for clock in first.clocks.all()] == [None]


def test_it_refuses_an_item_that_has_an_open_job(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    other = house.item("second_stage", "TH-2")

    with nothing_changes():
        answer = check_in(house, api, line(house, other, "second_stage"), line(house, walk.item))

    assert sentences(answer) == [f"{walk.item.label} has an open job already."]
    assert answer.json()["errors"][0]["pointer"] == "/lines/1/item"


def test_it_takes_the_item_again_once_its_job_has_ended(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")

    ok(check_in(house, api, line(house, walk.item)), 201)

    assert Job.objects.filter(item=walk.item).count() == 2


def test_it_refuses_with_every_reason_at_once(house: House, api: dict[str, Api]) -> None:
    item = house.item()
    lines = [line(house, item, "second_stage"), line(house, item)]

    with nothing_changes():
        answer = check_in(house, api, *lines, on="2001-01-01")

    assert codes(answer) == ["promise-past", "item-twice", "wrong-plan"]


def test_it_refuses_a_drop_off_without_lines(house: House, api: dict[str, Api]) -> None:
    with nothing_changes():
        answer = check_in(house, api)

    assert pointers(answer) == ["/lines"]


def test_it_refuses_bad_lines_with_the_place_of_each(house: House, api: dict[str, Api]) -> None:
    good = line(house, house.item())
    lines = [good, good | {"contents": "water"}, {"item": "E-00001"}, good | {"colour": "red"}]

    with nothing_changes():
        answer = check_in(house, api, *lines, on="yesterday")

    assert pointers(answer) == [
        "/lines/1/contents",
        "/lines/2/item",
        "/lines/3/colour",
        "/promised_on",
    ]


def test_it_checks_in_on_the_page_and_a_double_click_makes_one(house: House, pages: dict[str, Any]) -> None:
    item = house.item()
    path = f"/customers/{house.customer.uid}/check-in"
    typed = {
        "promised_on": "2199-01-01",
        "lines[0]item": str(item.uid),
        "lines[0]plan": str(house.plans["first_stage"].uid),
        "lines[0]contents": "no gas",
        "once": "one-click",
    }

    first = pages["counter"].post(path, typed)
    with nothing_changes():
        second = pages["counter"].post(path, typed)

    assert DropOff.objects.count() == 1
    assert first["Location"] == second["Location"] == f"/drop-offs/{DropOff.objects.get().uid}"


def test_it_refuses_on_the_page_and_keeps_what_was_typed(house: House, pages: dict[str, Any]) -> None:
    item = house.item()
    path = f"/customers/{house.customer.uid}/check-in"
    typed = {
        "promised_on": "2199-01-01",
        "lines[0]item": str(item.uid),
        "lines[0]plan": str(house.plans["second_stage"].uid),
        "lines[0]contents": "no gas",
        "lines[0]words": "Hisses a little.",
    }

    with nothing_changes():
        page = send(pages["counter"], path, typed)

    assert f"This plan is for another model than {item.label}, First stage, Tarnwell Hesk." in said(page)
    assert "Hisses a little." in said(page)
