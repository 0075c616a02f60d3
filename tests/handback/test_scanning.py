"""What may be scanned at hand-back: an item's number, its bag's tag, or a mark that it alone carries."""

from typing import Any

import pytest

from shop.gear.models import Identifier
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, send, sentences
from tests.walk import Walk, ok, pair


def marked(house: House, api: dict[str, Api]) -> Walk:
    """A first stage with a serial and an owner's mark."""
    walk = Walk(house, api)
    Identifier.objects.filter(item=walk.item).update(value="Ser 7/q")
    Identifier.objects.create(item=walk.item, kind=Identifier.OWNERS_MARK, value="ml-1")
    return walk


@pytest.mark.parametrize(
    "scanned", ["E-00001", "e-1", " e-00001 ", "C-0001-1", "c-0001-1", "ser 7/Q", "ML-1"]
)
def test_it_works(house: House, api: dict[str, Api], scanned: str) -> None:
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
