"""Handing gear back: scanned, signed off, and "do not dive" acknowledged."""

from typing import Any

import pytest

from jobs.flow.models import Custody
from jobs.handback.models import HandBack
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok, pair

WORDS = "The seat bore is scored."


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")

    body = ok(walk.hand_back(), 201)

    assert (body["collector"], body["jobs"]) == ("Maja Lindqvist", [walk.job])
    assert walk.row.leg == "handed_back"
    assert list(Custody.objects.order_by("pk").values_list("holder", flat=True)) == [
        "the workshop",
        f"the collector of hand-back {body['uid']}",
    ]


@pytest.mark.parametrize(
    ("items", "found"),
    [
        ([], ["nothing-scanned"]),
        (["E-99999"], ["not-of-this-drop-off"]),
        (["SAME", "SAME"], ["scanned-twice"]),
        (["SAME", " same "], ["scanned-twice"]),
        (["E-99999", "E-99998"], ["not-of-this-drop-off", "not-of-this-drop-off"]),
    ],
)
def test_it_refuses_what_was_not_scanned_or_is_not_of_this_drop_off(
    house: House, api: dict[str, Api], items: list[str], found: list[str]
) -> None:
    walk = Walk(house, api).to("signed_off")
    label = walk.item.label
    scanned = [each.replace("SAME", label).replace("same", label.lower()) for each in items]

    with nothing_changes():
        assert codes(walk.hand_back(items=scanned)) == found


def test_it_refuses_what_is_not_signed_off(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes():
        assert sentences(walk.hand_back()) == [f"{walk.item.label} is not signed off; it is on testing."]


def test_it_asks_the_collector_to_acknowledge_do_not_dive(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("stripping")
    ok(walk.sign(outcome="failed", words=WORDS), 201)
    reason = f"{walk.item.label} is failed: the collector must acknowledge “do not dive”."

    with nothing_changes():
        assert sentences(walk.hand_back()) == [reason]
        typed = {"collector": "Maja Lindqvist", "items": walk.item.label}
        assert reason in said(send(pages["counter"], f"/drop-offs/{walk.drop_off}/hand-back", typed))

    ok(walk.hand_back(acknowledged=True), 201)
    assert HandBack.objects.get().acknowledged is True


def test_it_refuses_to_hand_back_twice(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")

    with nothing_changes():
        assert codes(walk.hand_back()) == ["handed-back-before"]


def test_it_refuses_without_a_collector(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")

    with nothing_changes():
        answer = walk.hand_back(collector=" ")

    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/collector")


def test_it_refuses_a_stale_hand_back(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    data = {"collector": "Maja Lindqvist", "items": [walk.item.label]}

    with nothing_changes():
        answer = api["counter"].post(f"drop-offs/{walk.drop_off}/hand-backs", data, seen=7)

    assert answer.status_code == 412


def test_it_hands_back_one_of_two_and_keeps_the_other(house: House, api: dict[str, Api]) -> None:
    first, walk = pair(house, api, house.item(serial="A-1"), house.item("second_stage", serial="A-2"))
    ok(walk.sign(outcome="declined", words="The customer does not want it done."), 201)

    body = ok(walk.hand_back(acknowledged=True), 201)

    assert body["jobs"] == [walk.job]
    with nothing_changes():
        both = [first.item.label, walk.item.label]
        assert codes(walk.hand_back(items=both, acknowledged=True)) == [
            "not-signed-off",
            "handed-back-before",
        ]


@pytest.mark.parametrize(
    "scanned", ["E-00001", "e-1", " e-00001 ", "C-0001-1", "c-0001-1", "ser 7/Q", "ML-1"]
)
def test_it_knows_an_item_by_its_number_its_bag_and_its_marks(
    house: House, api: dict[str, Api], scanned: str
) -> None:
    walk = marked(house, api).to("signed_off")

    body = ok(walk.hand_back(items=[scanned]), 201)

    assert body["jobs"] == [walk.job]
    assert walk.row.leg == "handed_back"


@pytest.mark.parametrize("scanned", ["e-1", "C-0001-1", "ml-1"])
def test_it_knows_it_on_the_page(
    house: House, api: dict[str, Api], pages: dict[str, Any], scanned: str
) -> None:
    walk = marked(house, api).to("signed_off")
    typed = {"collector": "Maja Lindqvist", "items": scanned}

    page = send(pages["counter"], f"/drop-offs/{walk.drop_off}/hand-back", typed)

    assert page.status_code == 302
    assert walk.row.leg == "handed_back"


def test_it_knows_that_a_number_and_a_bag_are_one_item(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")

    with nothing_changes():
        assert codes(walk.hand_back(items=["e-1", "C-0001-1"])) == ["scanned-twice"]


@pytest.mark.parametrize("scanned", ["C-0001-2", "C-0002-1", "C-0001", "S-second_stage", "E-2", "1", "-"])
def test_it_says_what_is_here_when_it_is_none_of_it(house: House, api: dict[str, Api], scanned: str) -> None:
    walk = Walk(house, api).to("signed_off")
    house.item("second_stage", serial="S-second_stage")

    with nothing_changes():
        answer = walk.hand_back(items=[scanned])

    assert sentences(answer) == [
        f"{scanned.upper()} is no item, bag or mark of this drop-off, or of more than one; here are E-00001."
    ]


def test_it_takes_a_mark_that_two_items_carry_for_neither(house: House, api: dict[str, Api]) -> None:
    first, second = pair(house, api, house.item(serial="TWIN"), house.item("second_stage", serial="TWIN"))
    for walk in (first, second):
        ok(walk.sign(outcome="declined", words="The customer does not want it done."), 201)

    with nothing_changes():
        answer = first.hand_back(items=["TWIN"], acknowledged=True)

    assert sentences(answer) == [
        "TWIN is no item, bag or mark of this drop-off, or of more than one; here are E-00001, E-00002."
    ]


def test_it_takes_a_number_for_the_item_that_has_it_whatever_stands_on_another(
    house: House, api: dict[str, Api]
) -> None:
    first, second = pair(house, api, house.item(serial="A-1"), house.item("second_stage", serial="E-00001"))
    ok(first.sign(outcome="declined", words="The customer does not want it done."), 201)

    body = ok(first.hand_back(items=["E-00001"], acknowledged=True), 201)

    assert body["jobs"] == [first.job]
    assert second.row.leg == "checked_in"
