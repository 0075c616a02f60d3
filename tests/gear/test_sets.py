"""Sets: what comes together, is priced together, tested together and handed back together."""

from copy import deepcopy
from typing import Any

import pytest

from shop.catalogue.actions import issue_plan
from shop.gear.models import GearSet, Item, Member
from shop.sets.rules import In, member_refusals
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok, pair


@pytest.fixture
def items(house: House) -> tuple[Item, Item]:
    """A first and a second stage of one owner."""
    return house.item(), house.item("second_stage", "TH-2")


def made(house: House, api: dict[str, Api], *items: Item) -> dict[str, Any]:
    given = {"name": "her cold-water set", "items": [str(item.uid) for item in items]}
    found: dict[str, Any] = ok(api["counter"].post(f"customers/{house.customer.uid}/sets", given), 201)
    return found


def test_it_works(house: House, api: dict[str, Api], items: tuple[Item, Item]) -> None:
    row = made(house, api, *items)

    assert [member["item"] for member in row["members"]] == [str(item.uid) for item in items]
    out = {"item": str(items[1].uid)}
    ok(api["counter"].post(f"sets/{row['uid']}/take-out", out, seen=1))
    assert GearSet.objects.get().present == [items[0]]
    ok(api["counter"].post(f"sets/{row['uid']}/put-in", out, seen=2))
    assert Member.objects.filter(item=items[1]).count() == 2
    with nothing_changes():
        assert api["counter"].post(f"sets/{row['uid']}/put-in", out, seen=2).status_code == 412
        assert codes(api["counter"].post(f"sets/{row['uid']}/put-in", out, seen=3)) == ["in-a-set"]


@pytest.mark.parametrize(
    ("item", "found"),
    [
        (In("E-00001", True), []),
        (In("E-00001", False), ["another-owner"]),
        (In("E-00001", True, "the old set"), ["in-a-set"]),
        (In("E-00001", False, "the old set", merged=True), ["merged", "another-owner", "in-a-set"]),
    ],
)
def test_it_keeps_an_item_in_one_set_of_its_owner(item: In, found: list[str]) -> None:
    assert [refusal.code for refusal in member_refusals("Maja Lindqvist", [item])] == found


def test_it_is_checked_in_as_one_drop_off(
    house: House, api: dict[str, Api], pages: dict[str, Any], items: tuple[Item, Item]
) -> None:
    row = made(house, api, *items)

    page = said(pages["counter"].get(f"/customers/{house.customer.uid}/check-in?set={row['uid']}"), 200)

    for i, item in enumerate(items):
        assert f'name="lines[{i}]item"' in page
        assert f' value="{item.uid}" selected>' in page


def test_it_leaves_together_or_says_why_not(
    house: House, api: dict[str, Api], items: tuple[Item, Item]
) -> None:
    made(house, api, *items)
    one, two = pair(house, api, *items)
    ok(one.go_ahead("500.00"), 201)
    for walk in (one, two):
        walk.to("signed_off")

    with nothing_changes():
        assert codes(one.hand_back()) == ["set-apart"]
    ok(one.hand_back(apart="The second stage waits for a hose."), 201)
    ok(two.hand_back(), 201)


@pytest.fixture
def partnered(house: House, api: dict[str, Api], items: tuple[Item, Item]) -> tuple[Walk, Walk]:
    """Two jobs of a set on testing; the second stage's plan names a first stage beside it and tests the whole set."""
    document = deepcopy(house.plans["second_stage"].document)
    document["tests"][0]["partner"] = "first_stage"
    document["tests"][1]["of_set"] = True
    house.plans["second_stage"] = issue_plan(
        by=house.people["lead"], model=house.models["second_stage"], key="overhaul", document=document
    )
    made(house, api, *items)
    one, two = pair(house, api, *items)
    ok(one.go_ahead("500.00"), 201)
    one.to("testing")
    two.to("rebuilding")
    return one, two


def tried(walk: Walk, key: str, reading: str, **more: Any) -> Any:
    data: dict[str, Any] = {"phase": "final", "figures": {"first": reading}}
    data["instrument"] = str(walk.house.instruments["low-pressure gauge"].uid)
    return walk.api["technician"].post(f"jobs/{walk.job}/tests/{key}", data | more)


def test_it_stops_counting_when_the_item_beside_it_is_worked_on(partnered: tuple[Walk, Walk]) -> None:
    one, two = partnered
    two.steps("rebuilding")
    ok(two.move("testing"))
    with nothing_changes():
        assert codes(tried(two, "cracking", "3.1")) == ["partner-missing"]
        assert codes(tried(two, "cracking", "3.1", partner=str(two.item.uid))) == [
            "partner-itself",
            "wrong-partner",
        ]
    ok(tried(two, "cracking", "3.1", partner=str(one.item.uid)), 201)
    ok(tried(two, "exhalation", "4.2"), 201)
    ok(one.move("rebuilding", reason="The lock-up was set anew."))
    ok(one.step("rebuild"), 201)

    with nothing_changes():
        assert codes(two.sign()) == ["not-tested", "not-tested"]
    ok(one.step("torque"), 201)
    ok(one.move("testing"))
    ok(tried(two, "cracking", "3.1", partner=str(one.item.uid)), 201)
    ok(tried(two, "exhalation", "4.2"), 201)
    ok(two.sign(), 201)


def test_it_tests_the_set_once_all_of_it_is_rebuilt(partnered: tuple[Walk, Walk]) -> None:
    one, two = partnered
    two.steps("rebuilding")
    ok(two.move("testing"))
    ok(one.move("rebuilding", reason="The hoses are off."))

    with nothing_changes():
        assert codes(tried(two, "exhalation", "4.2")) == ["set-not-ready"]
    one.steps("rebuilding")
    ok(one.move("testing"))
    ok(tried(two, "exhalation", "4.2"), 201)


def test_it_makes_a_set_on_the_page(house: House, pages: dict[str, Any], items: tuple[Item, Item]) -> None:
    typed = {"name": "his set", "items": [str(item.uid) for item in items]}

    answer = send(pages["counter"], f"/customers/{house.customer.uid}/sets/new", typed)

    assert answer["Location"] == f"/sets/{GearSet.objects.get().uid}"
    assert "his set" in said(pages["counter"].get(f"/items/{items[0].uid}"), 200)
