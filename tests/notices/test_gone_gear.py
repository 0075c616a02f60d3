"""Gear that is gone while its record is in doubt: one letter to each owner, a call list, an answer for each."""

from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import Any

import pytest
from django.test import Client

from jobs.notices.models import Answer
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.post.models import Letter
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok

WHY = "The maker has called this ring back."


@pytest.fixture
def gone(house: House, api: dict[str, Api]) -> list[Walk]:
    """Two first stages of one customer, serviced with one lot and handed back."""
    first = Walk(house, api).to("handed_back")
    second = Walk(house, api).to("handed_back")
    return [first, second]


def doubted(walk: Walk) -> dict[str, Any]:
    lot = str(walk.house.lots["TH-302"].uid)
    made: dict[str, Any] = ok(walk.api["technician"].post("doubts", {"lot": lot, "why": WHY}), 201)
    return made


def told(walk: Walk, affected: dict[str, Any], became: str = "told") -> Any:
    given = {"became": became, "words": "Maja has it and does not dive with it."}
    return walk.api["lead"].post(f"affected/{affected['uid']}/answer", given)


def text_of(letter: Letter) -> str:
    message = message_from_bytes(bytes(letter.body), EmailMessage, policy=default)
    body = message.get_body(["plain"])
    assert body
    return str(body.get_content())


def again(walk: Walk) -> Walk:
    """The same item, checked in once more."""
    plan = str(walk.house.plans["first_stage"].uid)
    line = {"item": str(walk.item.uid), "plan": plan, "contents": "no gas"}
    data = {"customer": str(walk.house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    made = ok(walk.api["counter"].post("drop-offs", data), 201)
    found = walk.other(made["lines"][0]["job"], walk.item)
    found.drop_off = made["uid"]
    return found


def test_it_works(gone: list[Walk]) -> None:
    made = doubted(gone[0])

    letter = Letter.objects.get()
    assert (letter.recipient, letter.purpose) == (str(gone[0].house.customer.uid), "safety")
    assert letter.subject == "Please do not dive with your gear until we have spoken"
    text = text_of(letter)
    for walk in gone:
        assert f"({walk.item.label}), {walk.row.label}" in text
    assert WHY not in text
    assert [(each["here"], each["letter"]) for each in made["affected"]] == [(False, "new")] * 2
    for each in made["affected"]:
        assert ok(gone[0].api["lead"].get(f"doubts/{made['uid']}"))["is_open"] is True
        ok(told(gone[0], each), 201)
    assert ok(gone[0].api["lead"].get(f"doubts/{made['uid']}"))["is_open"] is False
    assert Letter.objects.count() == 1


def test_it_writes_to_whoever_owns_it_now_and_needs_no_consent(gone: list[Walk]) -> None:
    rowan = Customer.objects.create(
        number=77, kind="person", name="Rowan Achterberg", email="rowan@achterberg.example", reminders=False
    )
    Item.objects.filter(pk=gone[1].item.pk).update(owner=rowan)

    doubted(gone[0])

    assert sorted(Letter.objects.values_list("address", flat=True)) == [
        "maja@lindqvist.example",
        "rowan@achterberg.example",
    ]
    letter = Letter.objects.get(recipient=str(rowan.uid))
    assert gone[1].item.label in text_of(letter)
    assert gone[0].item.label not in text_of(letter)


def test_it_lists_who_has_no_address(gone: list[Walk], pages: dict[str, Client]) -> None:
    Customer.objects.update(email="")

    made = doubted(gone[0])

    assert Letter.objects.count() == 0
    page = said(pages["counter"].get(f"/office/doubts/{made['uid']}"), 200)
    assert page.count('href="tel:+441632960417"') == 2
    assert page.count("none was written: telephone") == 2


def test_it_takes_no_other_answer_for_what_is_gone(gone: list[Walk]) -> None:
    made = doubted(gone[0])

    with nothing_changes():
        assert codes(told(gone[0], made["affected"][0], "stands")) == ["wrong-answer"]
        assert codes(told(gone[0], made["affected"][0], "done again")) == ["wrong-answer"]


def test_it_stops_the_item_that_is_here_again(gone: list[Walk]) -> None:
    """It is here, so that nobody need be told; the job it is here for stops instead."""
    present = again(gone[0])
    made = doubted(gone[0])

    assert [each["here"] for each in made["affected"]] == [True, False]
    assert gone[0].item.label not in text_of(Letter.objects.get())
    ok(present.go_ahead(), 201)
    with nothing_changes():
        assert codes(present.move("cleared", role="counter")) == ["held-doubt"]
    ok(told(gone[0], made["affected"][0], "done again"), 201)
    ok(present.move("cleared", role="counter"))


def test_it_asks_about_the_item_when_it_comes_in_later(gone: list[Walk], pages: dict[str, Client]) -> None:
    made = doubted(gone[0])
    present = again(gone[0])
    sign: Any = {"outcome": "declined", "words": "It goes back as it is.", "second": None}
    ok(present.sign(**sign | {"second_secret": ""}), 201)

    assert WHY in said(pages["counter"].get(f"/items/{present.item.uid}"), 200)
    with nothing_changes():
        assert codes(present.hand_back(acknowledged=True)) == ["doubt"]
    ok(told(gone[0], made["affected"][0], "stands"), 201)
    ok(present.hand_back(acknowledged=True), 201)
    assert WHY not in said(pages["counter"].get(f"/items/{present.item.uid}"), 200)


def test_it_answers_on_the_page(gone: list[Walk], pages: dict[str, Client]) -> None:
    made = doubted(gone[0])
    path = f"/office/affected/{made['affected'][0]['uid']}/answer"

    page = said(pages["lead"].get(path), 200)
    assert "Whoever has it was told" in page
    assert "the work stands" not in page
    answer = send(pages["lead"], path, {"became": "told", "words": "Maja does not dive with it."})

    assert answer["Location"] == f"/office/doubts/{made['uid']}"
    assert Answer.objects.get().became == "told"
    page = said(pages["lead"].get(answer["Location"]), 200)
    assert "1 of 2 answered" in page
    assert "Maja does not dive with it." in page
    assert page.count("not answered") == 1
