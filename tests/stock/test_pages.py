"""What the pages of the Store show: parts by a piece of text, a kit's contents, who moved something, a lot past its life."""

from typing import Any

import pytest

from shop.search.models import Findable
from shop.stock.actions import add_content, add_part
from shop.stock.reads import parts_like
from tests.conftest import Api, House
from tests.rows import said, send
from tests.walk import ok


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("th-30", ["TH-301", "TH-302", "TH-303"]),
        ("2-OLD", ["TH-302"]),
        ("nothing of ours", []),
        ("%", []),
        ("", ["TH-301", "TH-302", "TH-303", "TH-401", "TH-402"]),
    ],
)
def test_parts_are_found_by_a_piece_of_number_name_or_lot(house: House, text: str, found: list[str]) -> None:
    assert [part.number for part in parts_like(text)] == found


def test_the_store_shows_those_only(house: House, pages: dict[str, Any]) -> None:
    page = said(pages["counter"].get("/store?q=302-old"), 200)
    assert "TH-302-OLD" in page
    assert "TH-303-A" not in page

    none = said(pages["counter"].get("/store?q=zzz%00"), 200)
    assert "No part and no lot has this in its number or name." in none
    assert "Show all" in none


def test_a_part_says_what_it_holds(house: House, pages: dict[str, Any]) -> None:
    by, seat = house.people["storekeeper"], house.lots["TH-303"].part
    given: dict[str, Any] = {"unit": "piece", "material": "", "life_months": None, "life_source": ""}
    kit = add_part(by=by, number="TH-K1", name="Kit", **given)
    add_content(by=by, kit=kit, part=seat, count=2)

    page = said(pages["storekeeper"].get(f"/store/parts/{kit.uid}"), 200)
    assert "2 × TH-303" in page
    assert "Add what it holds" in page
    assert "Add what it holds" not in said(pages["storekeeper"].get(f"/store/parts/{seat.uid}"), 200)


def test_a_lot_says_who_moved_it(house: House, pages: dict[str, Any]) -> None:
    page = said(pages["counter"].get(f"/store/lots/{house.lots['TH-303'].uid}"), 200)

    assert f'data-label="by"><bdi>{house.people["storekeeper"].name}</bdi>' in page


def test_a_lot_that_comes_past_its_life_is_shown_at_once(house: House, pages: dict[str, Any]) -> None:
    """60 months from the end of 1Q10 are 2015-03-31."""
    page, seat = pages["storekeeper"], house.lots["TH-303"].part
    path, bag = f"/store/parts/{seat.uid}/receive", {"number": "OLD-1", "cured": "1Q10", "quantity": "2"}

    shown = said(page.get(send(page, path, bag)["Location"]), 200)

    assert "Lot OLD-1" in shown
    assert "<b>Past its life.</b> Nothing of it is taken" in shown
    fresh = send(page, path, bag | {"number": "NEW-1", "cured": "2Q26"})
    assert fresh["Location"] == f"/store/parts/{seat.uid}"


def test_a_part_is_always_counted_in_something(house: House, pages: dict[str, Any]) -> None:
    page = said(pages["storekeeper"].get(f"/store/parts/{house.lots['TH-303'].part.uid}/change"), 200)

    assert ">None<" not in page
    path = "/store/parts/new"
    refused = said(send(pages["storekeeper"], path, {"number": "X-1", "name": "X", "unit": ""}), 400)
    assert "Choose one." in refused
    assert "is not a valid choice" not in refused


def test_a_name_and_a_maker_are_corrected(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    """Over both doors; a lot is found by the new name, and what is left out stays as it was."""
    seat = house.lots["TH-303"].part
    path, keeper = f"parts/{seat.uid}", api["storekeeper"]

    changed = ok(keeper.put(path, {"name": "Crown seat", "maker": "Tarnwell"}, 1))
    assert (changed["name"], changed["maker"]) == ("Crown seat", "Tarnwell")
    assert Findable.objects.get(subject=f"lot:{house.lots['TH-303'].uid}").title == "TH-303 Crown seat"

    kept = ok(keeper.put(path, {"size": "6 mm"}, 2))
    assert (kept["name"], kept["maker"]) == ("Crown seat", "Tarnwell")
    assert (
        send(pages["storekeeper"], f"/store/{path}/change", {"name": "Seat", "maker": ""}).status_code == 302
    )
    seat.refresh_from_db()
    assert (seat.name, seat.maker) == ("Seat", "")
