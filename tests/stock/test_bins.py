"""Where lots lie: bins, moves between them, and from which one is taken."""

from typing import Any

import pytest
from django.db import transaction

from shop.stock.actions import take
from shop.stock.models import Bin, Lot, Movement
from shop.stock.rules import Verb, move_refusals, place_refusals
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok


@pytest.mark.parametrize(
    ("quantity", "there", "on_hand", "found"),
    [(3, 3, 9, []), (4, 3, 9, ["not-enough-there"]), (10, 3, 9, []), (1, 0, 1, ["not-enough-there"])],
)
def test_what_a_bin_can_give(quantity: int, there: int, on_hand: int, found: list[str]) -> None:
    """More than the lot has is said of the lot, not of the bin."""
    refusals = place_refusals("L", "A 3", quantity=quantity, there=there, on_hand=on_hand)

    assert [each.code for each in refusals] == found


@pytest.mark.parametrize(
    ("verb", "to", "found"),
    [
        (Verb.MOVE, "B 1", []),
        (Verb.MOVE, "A 3", ["same-bin"]),
        (Verb.MOVE, "", ["no-bin"]),
        (Verb.TAKE, "", []),
        (Verb.TAKE, "B 1", ["not-a-move"]),
    ],
)
def test_which_second_bin_stands(verb: Verb, to: str, found: list[str]) -> None:
    assert [each.code for each in move_refusals(verb, place="A 3", to=to)] == found


def lies(lot: Lot) -> dict[str, int]:
    return {each.bin.label: each.on_hand for each in Lot.objects.get(pk=lot.pk).places}


def shelf(api: dict[str, Api], label: str = "A 3", site: str = "Workshop") -> str:
    return str(ok(api["storekeeper"].post("bins", {"site": site, "label": label}), 201)["uid"])


def moved(api: dict[str, Api], lot: Lot, verb: str, quantity: int, **more: Any) -> Any:
    data = {"verb": verb, "quantity": quantity, "subject": "a trial"} | more
    return api["storekeeper"].post(f"lots/{lot.uid}/movements", data)


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    """Everything lies in one bin until somebody says otherwise; a move changes no sum."""
    lot = house.lots["TH-302"]
    assert lies(lot) == {"Store": 10}
    near = shelf(api)

    left = ok(moved(api, lot, "move", 4, to=near), 201)
    ok(moved(api, lot, "scrap", 1, bin=near), 201)
    ok(moved(api, lot, "count", 2, bin=near), 201)
    assert codes(moved(api, lot, "return", 2)) == ["never-taken"]
    ok(moved(api, lot, "return", 1), 201)

    assert left["on_hand"] == 10
    assert [(each["bin"]["label"], each["on_hand"]) for each in left["stored"]] == [("Store", 6), ("A 3", 4)]
    assert lies(lot) == {"Store": 7, "A 3": 2}
    rows = Movement.objects.filter(lot=lot).order_by("pk").values_list("verb", "quantity", "bin__label")
    assert list(rows) == [
        ("receive", 10, "Store"), ("move", -4, "Store"), ("move", 4, "A 3"), ("scrap", -1, "A 3"), ("count", -1, "A 3"),
        ("return", 1, "Store"),
    ]  # fmt: skip
    shown = said(pages["counter"].get("/store/bins"), 200)
    assert "A 3" in shown
    assert "TH-302-A" in shown
    assert "2 pieces in A 3 (Workshop)" in said(pages["counter"].get(f"/store/lots/{lot.uid}"), 200)


def test_a_page_moves_and_adds_a_bin(house: House, pages: dict[str, Any]) -> None:
    lot, keeper = house.lots["TH-302"], pages["storekeeper"]
    send(keeper, "/store/bins/new", {"site": "Quay", "label": "A 3"})
    near = Bin.objects.get(label="A 3")

    sent = {"verb": "move", "quantity": "10", "subject": "nearer", "bin": "", "to": str(near.uid)}
    send(keeper, f"/store/lots/{lot.uid}/move", sent)

    assert lies(lot) == {"A 3": 10}


def test_it_refuses_what_a_bin_cannot_do(house: House, api: dict[str, Api]) -> None:
    lot, near = house.lots["TH-302"], shelf(api)
    ok(moved(api, lot, "move", 4, to=near), 201)

    with nothing_changes():
        assert codes(moved(api, lot, "take", 5, bin=near)) == ["not-enough-there"]
        assert codes(moved(api, lot, "move", 7, to=near)) == ["not-enough-there"]
        assert codes(moved(api, lot, "move", 11, to=near)) == ["not-enough"]
        assert codes(moved(api, lot, "move", 1, bin=near, to=near)) == ["same-bin"]
        assert codes(moved(api, lot, "move", 0)) == ["nothing", "no-bin"]
        assert codes(moved(api, lot, "take", 1, to=near)) == ["not-a-move"]
        assert codes(api["storekeeper"].post("bins", {"site": "Workshop", "label": "A 3"})) == ["bin-taken"]


def test_a_job_takes_from_the_bin_with_most(house: House, api: dict[str, Api]) -> None:
    lot, near = house.lots["TH-302"], shelf(api)
    ok(moved(api, lot, "move", 6, to=near), 201)

    with transaction.atomic():
        row = take(by=house.people["technician"], lot=lot, quantity=5, wanted_part="TH-302", subject="job:x")

    assert row.bin.label == "A 3"
    assert lies(lot) == {"Store": 4, "A 3": 1}


def test_what_is_received_goes_where_it_is_said_or_where_most_lies(house: House, api: dict[str, Api]) -> None:
    lot, near = house.lots["TH-303"], shelf(api)
    sent = {"number": "L-1", "cured": "2Q26", "quantity": 30}
    path = f"parts/{lot.part.uid}/lots"

    said_so = ok(api["storekeeper"].post(path, sent | {"bin": near}), 201)
    follows = ok(api["storekeeper"].post(path, sent | {"number": "L-2"}), 201)

    for each in (said_so, follows):
        assert [row["bin"]["label"] for row in each["stored"]] == ["A 3"]


def test_the_pieces_of_a_kit_lie_where_their_part_does(house: House, api: dict[str, Api]) -> None:
    keeper, part, near = api["storekeeper"], house.lots["TH-302"].part, shelf(api)
    kit = ok(keeper.post("parts", {"number": "TH-KIT", "name": "Kit", "unit": "piece"}), 201)
    ok(keeper.post(f"parts/{kit['uid']}/contents", {"part": str(part.uid), "count": 2}), 201)
    bag = ok(
        keeper.post(f"parts/{kit['uid']}/lots", {"number": "K", "cured": "2Q26", "quantity": 3, "bin": near}),
        201,
    )

    ok(keeper.post(f"lots/{bag['uid']}/open", {"quantity": 1}), 201)

    assert lies(Lot.objects.get(uid=bag["uid"])) == {"A 3": 2}
    assert lies(Lot.objects.get(part=part, number="K")) == {"Store": 2}
