"""A maker's bagged kit: opened, its pieces stand in the store under the kit's own lot."""

from typing import Any

import pytest

from shop.stock.actions import add_part, receive
from shop.stock.models import Lot
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said
from tests.walk import Walk, ok


@pytest.fixture
def kit(house: House, api: dict[str, Api]) -> Lot:
    """Three kits of a seat and two rings."""
    store = house.people["storekeeper"]
    part = add_part(
        by=store, number="TH-KIT", name="Service kit", unit="piece", material="", life_months=60,
        life_source="the test's own rule",
    )  # fmt: skip
    for number, count in (("TH-303", 1), ("TH-302", 2)):
        given = {"part": str(house.lots[number].part.uid), "count": count}
        ok(api["storekeeper"].post(f"parts/{part.uid}/contents", given), 201)
    return receive(by=store, part=part, number="KIT-7", cured="2Q26", quantity=3)


def test_it_works(house: House, api: dict[str, Api], kit: Lot) -> None:
    ok(api["technician"].post(f"lots/{kit.uid}/open", {"quantity": 2}), 201)

    found = {
        lot.part.number: (lot.on_hand, lot.cured, lot.good_to) for lot in Lot.objects.filter(number="KIT-7")
    }
    assert found == {
        "TH-KIT": (1, "2Q26", kit.good_to),
        "TH-303": (2, "2Q26", kit.good_to),
        "TH-302": (4, "2Q26", kit.good_to),
    }


def test_it_renews_a_part_from_an_opened_kit(house: House, api: dict[str, Api], kit: Lot) -> None:
    ok(api["storekeeper"].post(f"lots/{kit.uid}/open", {"quantity": 1}), 201)
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    lot = Lot.objects.get(number="KIT-7", part__number="TH-303")

    renewed = {"ending": "renewed", "lot": str(lot.uid)}
    ok(api["technician"].post(f"jobs/{walk.job}/parts/seat", renewed), 201)

    lot.refresh_from_db()
    assert lot.on_hand == 0


def test_it_opens_no_more_than_there_are(house: House, api: dict[str, Api], kit: Lot) -> None:
    with nothing_changes():
        assert codes(api["technician"].post(f"lots/{kit.uid}/open", {"quantity": 4})) == ["not-enough"]
        ring = house.lots["TH-302"]
        assert codes(api["technician"].post(f"lots/{ring.uid}/open", {"quantity": 1})) == ["no-kit"]
        assert api["counter"].post(f"lots/{kit.uid}/open", {"quantity": 1}).status_code == 403


def test_it_opens_no_kit_into_a_lot_of_another_quarter(house: House, api: dict[str, Api], kit: Lot) -> None:
    receive(
        by=house.people["storekeeper"],
        part=house.lots["TH-303"].part,
        number="KIT-7",
        cured="1Q26",
        quantity=1,
    )

    with nothing_changes():
        assert codes(api["technician"].post(f"lots/{kit.uid}/open", {"quantity": 1})) == ["cure-differs"]


def test_it_puts_no_kit_into_a_kit(house: House, api: dict[str, Api], kit: Lot) -> None:
    with nothing_changes():
        for whole, part in ((kit.part, kit.part), (house.lots["TH-303"].part, kit.part)):
            answer = api["storekeeper"].post(
                f"parts/{whole.uid}/contents", {"part": str(part.uid), "count": 1}
            )
            assert codes(answer) == ["kit-in-kit"]


def test_it_says_what_is_in_it(kit: Lot, pages: dict[str, Any]) -> None:
    page = said(pages["technician"].get("/store"), 200)

    assert "kit of 1 × TH-303, 2 × TH-302" in " ".join(page.split())
    assert "Open a kit" in page
