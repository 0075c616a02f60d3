"""A maker's bagged kit: opened, its pieces stand in the store under the kit's own lot."""

from typing import Any

import pytest

from shop.stock.actions import add_part, receive
from shop.stock.models import Lot, Part
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
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


@pytest.mark.parametrize(
    ("kit_life", "own_life", "good_to"),
    [
        (60, 84, "2031-06-30"),
        (84, 60, "2031-06-30"),
        (60, None, "2031-06-30"),
        (None, 60, "2031-06-30"),
        (None, None, "None"),
    ],
)
def test_a_piece_lives_no_longer_than_its_kit_nor_than_alone(
    house: House, api: dict[str, Api], kit: Lot, kit_life: int | None, own_life: int | None, good_to: str
) -> None:
    """60 months from the end of 2Q26 are 2031-06-30."""
    Part.objects.filter(pk=kit.part_id).update(life_months=kit_life)
    Part.objects.filter(number="TH-303").update(life_months=own_life)
    whole = receive(by=house.people["storekeeper"], part=kit.part, number="KIT-8", cured="2Q26", quantity=1)
    ok(api["technician"].post(f"lots/{whole.uid}/open", {"quantity": 1}), 201)

    assert str(Lot.objects.get(number="KIT-8", part__number="TH-303").good_to) == good_to


def test_pieces_that_lie_there_already_live_no_longer_either(
    house: House, api: dict[str, Api], kit: Lot
) -> None:
    """They cannot be told from those of the kit; and no inspection makes them outlive it."""
    ring = house.lots["TH-302"].part
    Part.objects.filter(pk=ring.pk).update(life_months=84, life_rule="iso-2230-b")
    ring.refresh_from_db()
    lot = receive(by=house.people["storekeeper"], part=ring, number="KIT-7", cured="2Q26", quantity=1)
    assert str(lot.good_to) == "2033-06-30"

    ok(api["technician"].post(f"lots/{kit.uid}/open", {"quantity": 1}), 201)

    lot.refresh_from_db()
    assert (lot.good_to, lot.on_hand) == (kit.good_to, 3)
    with nothing_changes():
        assert codes(api["storekeeper"].post(f"lots/{lot.uid}/extension", {"subject": "no cracks"})) == [
            "of-a-kit"
        ]


def test_it_opens_no_kit_of_which_nothing_says_how_old_it_is(
    house: House, api: dict[str, Api], kit: Lot
) -> None:
    """One that was received before the rule was there; see below."""
    Part.objects.filter(pk=kit.part_id).update(life_months=None)
    kit.part.refresh_from_db()
    bag = receive(by=house.people["storekeeper"], part=kit.part, number="KIT-9", cured="2Q26", quantity=1)
    Lot.objects.filter(pk=bag.pk).update(cured="")
    bag.refresh_from_db()

    with nothing_changes():
        assert codes(api["technician"].post(f"lots/{bag.uid}/open", {"quantity": 1})) == ["age-unknown"] * 2


def test_it_receives_no_kit_of_which_nothing_says_how_old_it_is(
    house: House, api: dict[str, Api], pages: dict[str, Any], kit: Lot
) -> None:
    """Both parts in it have a storage life; the maker's own last day alone is enough."""
    Part.objects.filter(pk=kit.part_id).update(life_months=None)
    keeper, path, bag = api["storekeeper"], f"parts/{kit.part.uid}/lots", {"number": "KIT-9", "quantity": 1}

    with nothing_changes():
        answer = keeper.post(path, bag)
        page = send(pages["storekeeper"], f"/store/parts/{kit.part.uid}/receive", bag)
    assert codes(answer) == ["age-unknown"] * 2
    for number in ("TH-302", "TH-303"):
        wanted = f"{number} has a storage life, and this lot neither cure quarter nor last day"
        assert any(wanted in each for each in sentences(answer))
        assert wanted in said(page)

    ok(keeper.post(path, bag | {"use_by": "2030-06-30"}), 201)
    ok(keeper.post(path, bag | {"number": "KIT-10", "cured": "2Q26"}), 201)


def test_what_a_kit_holds_stays_once_lots_of_it_came(
    house: House, api: dict[str, Api], pages: dict[str, Any], kit: Lot
) -> None:
    more = {"part": str(house.lots["TH-301"].part.uid), "count": "1"}
    page = f"/store/parts/{kit.part.uid}/contents"

    with nothing_changes():
        assert codes(api["storekeeper"].post(f"parts/{kit.part.uid}/contents", more)) == ["kit-received"]
        assert "what those hold stays as it was" in said(send(pages["storekeeper"], page, more))


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
            assert codes(answer) == ["kit-in-kit", "kit-received"]  # and lots of both are here


def test_it_says_what_is_in_it(kit: Lot, pages: dict[str, Any]) -> None:
    page = said(pages["technician"].get("/store"), 200)

    assert "kit of 1 × TH-303, 2 × TH-302" in " ".join(page.split())
    assert "Open a kit" in page
