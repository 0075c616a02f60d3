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
        "its collector",
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
