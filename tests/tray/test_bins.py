"""From which bin a piece of a tray is taken: the fullest of the lot, or the one that somebody chose."""

from typing import Any

import pytest

from shop.stock.models import Lot
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok


@pytest.fixture
def near(house: House, api: dict[str, Api]) -> str:
    """A bin with two of the ten yoke rings."""
    keeper = api["storekeeper"]
    uid = str(ok(keeper.post("bins", {"site": "Workshop", "label": "A 3"}), 201)["uid"])
    moved = {"verb": "move", "quantity": 2, "subject": "nearer", "to": uid}
    ok(keeper.post(f"lots/{house.lots['TH-302'].uid}/movements", moved), 201)
    return uid


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    return walk


def lies(lot: Lot) -> dict[str, int]:
    return {each.bin.label: each.on_hand for each in Lot.objects.get(pk=lot.pk).places}


def end(walk: Walk, **given: Any) -> Any:
    return walk.api["technician"].post(f"jobs/{walk.job}/parts/yoke_ring", {"ending": "renewed"} | given)


def test_it_works(walk: Walk, house: House, near: str) -> None:
    """A piece comes from the bin that was chosen, goes back there when that is corrected, and then from the fullest."""
    lot = house.lots["TH-302"]
    ok(end(walk, lot=str(lot.uid), bin=near), 201)
    assert lies(lot) == {"Store": 8, "A 3": 1}

    ok(end(walk, lot=str(lot.uid), why="It was taken from the other one."), 201)

    assert lies(lot) == {"Store": 7, "A 3": 2}


def test_it_is_refused_with_every_reason(walk: Walk, house: House, near: str) -> None:
    old, lot = house.lots["old"], house.lots["TH-302"]
    with nothing_changes():
        answer = end(walk, lot=str(old.uid), bin=near)
        alone = end(walk, bin=near)
        twice = walk.api["technician"].post(
            f"jobs/{walk.job}/parts/plate", {"ending": "reused", "bin": near, "lot": str(lot.uid)}
        )

    assert sentences(answer) == [
        "Lot TH-302-OLD is past its life: good to 2019-03-31.",
        "Of lot TH-302-OLD, 0 pieces lie in A 3 (Workshop), less than the 1 piece asked for. Move them together first.",
    ]
    assert codes(alone) == ["bin-unasked", "lot-missing"]
    assert "lot-unasked" in codes(twice)


def test_the_page_asks_where_there_are_several(
    walk: Walk, house: House, near: str, pages: dict[str, Any]
) -> None:
    path, lot = f"/jobs/{walk.job}/parts/yoke_ring", house.lots["TH-302"]
    shown = said(pages["technician"].get(path), 200)
    assert "the one with most of the lot" in shown
    assert "A 3 (Workshop): 2 pieces of TH-302-A" in shown

    sent = {"ending": "renewed", "lot": str(lot.uid), "bin": near}
    assert send(pages["technician"], path, sent).status_code == 302

    assert lies(lot) == {"Store": 8, "A 3": 1}
    assert "A 3" in said(pages["counter"].get(f"/jobs/{walk.job}/history"), 200)
    assert 'name="bin"' not in said(pages["technician"].get(f"/jobs/{walk.job}/parts/seat"), 200)
