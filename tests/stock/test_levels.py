"""At which level a part is ordered, and how many."""

from typing import Any

import pytest

from shop.stock.models import Part
from shop.stock.rules import level_refusals, to_order
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok


@pytest.mark.parametrize(
    ("minimum", "up_to", "in_life", "quantity"),
    [(5, 20, 6, 0), (5, 20, 5, 15), (5, 20, 0, 20), (0, 1, 0, 1), (0, 1, 1, 0), (None, None, 0, 0)],
)
def test_how_many_are_ordered(minimum: int | None, up_to: int | None, in_life: int, quantity: int) -> None:
    assert to_order(minimum, up_to, in_life) == quantity


@pytest.mark.parametrize(
    ("minimum", "up_to", "found"),
    [
        (5, 6, []),
        (None, None, []),
        (5, 5, ["levels"]),
        (6, 5, ["levels"]),
        (5, None, ["one-level"]),
        (None, 5, ["one-level"]),
    ],
)
def test_which_levels_stand(minimum: int | None, up_to: int | None, found: list[str]) -> None:
    assert [each.code for each in level_refusals(minimum, up_to)] == found


def test_what_is_past_its_life_is_not_counted(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    part = house.lots["TH-302"].part  # ten in life, ten past it
    keeper = api["storekeeper"]
    levels = {"size": "AS568-012", "minimum": 9, "up_to": 30}
    ok(keeper.put(f"parts/{part.uid}", levels, 1))
    assert ok(keeper.get("parts/to-order"))["parts"] == []

    ok(keeper.post(f"lots/{house.lots['TH-302'].uid}/movements", {"quantity": 1, "subject": "a trial"}), 201)

    (row,) = ok(keeper.get("parts/to-order"))["parts"]
    assert (row["number"], row["in_life"], row["quantity"]) == ("TH-302", 9, 21)
    assert "21 pieces" in pages["counter"].get("/store/to-order").content.decode()


def test_pieces_in_unopened_kits_count(house: House, api: dict[str, Api]) -> None:
    keeper = api["storekeeper"]
    kit = ok(
        keeper.post(
            "parts",
            {"number": "TH-KIT", "name": "Kit", "unit": "piece", "life_months": 60, "life_source": "x"},
        ),
        201,
    )
    part = house.lots["TH-302"].part
    ok(keeper.post(f"parts/{kit['uid']}/contents", {"part": str(part.uid), "count": 2}), 201)
    ok(keeper.post(f"parts/{kit['uid']}/lots", {"number": "K", "cured": "2Q26", "quantity": 3}), 201)
    Part.objects.filter(pk=part.pk).update(minimum=15, up_to=20)
    assert ok(keeper.get("parts/to-order"))["parts"] == []

    Part.objects.filter(pk=part.pk).update(minimum=16)

    assert [row["in_life"] for row in ok(keeper.get("parts/to-order"))["parts"]] == [16]


def test_levels_seen_stale_or_wrong_change_nothing(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    part = house.lots["TH-302"].part
    path = f"parts/{part.uid}"
    with nothing_changes():
        stale = api["storekeeper"].put(path, {}, 2)
        wrong = api["storekeeper"].put(path, {"minimum": 5, "up_to": 5}, 1)
        page = send(pages["storekeeper"], f"/store/parts/{part.uid}/change", {"minimum": "5", "seen": 1})

    assert stale.status_code == 412
    assert codes(wrong) == ["levels"]
    assert "Give both levels, or neither." in said(page)


def test_the_page_begins_with_what_stands(house: House, pages: dict[str, Any]) -> None:
    part = house.lots["TH-302"].part
    send(
        pages["storekeeper"], f"/store/parts/{part.uid}/change", {"size": "A 3", "minimum": "5", "up_to": "9"}
    )

    page = pages["storekeeper"].get(f"/store/parts/{part.uid}/change")

    found = {control.name: control.value for control in page.context["form"].fields}
    named = {"name": "TH-302", "maker": "", "unit": "piece"}
    assert found == named | {"size": "A 3", "hardness": "", "minimum": 5, "up_to": 9}
