"""Labels of lots and bins, read back by a decoder from what was printed and held against what stands in the store."""

import pytest
from django.test import Client

from shop.paper.rules import day
from shop.search.models import Findable
from shop.stock.models import Bin, Lot, Part
from shop.stock.rules import bin_code, lot_code, lot_key
from tests.conftest import Api, House
from tests.printed import is_grey, marks_of, sizes_of, text_of, white_edges_mm


@pytest.mark.parametrize(
    ("typed", "key"),
    [("L-00042", 42), ("l-42", 42), (" L42 ", 42), ("L-123456", 123456), ("B-0042", None), ("E-00042", None),
     ("42", None), ("L-42-1", None), ("TH-302-A", None), ("", None), ("L-" + "9" * 16, None)],
)  # fmt: skip
def test_which_lot_a_code_names(typed: str, key: int | None) -> None:
    assert lot_key(typed) == key


@pytest.mark.parametrize(("key", "code"), [(7, "L-00007"), (123456, "L-123456")])
def test_how_a_code_is_written(key: int, code: str) -> None:
    assert lot_code(key) == code
    assert lot_key(code) == key
    assert bin_code(7) == "B-0007"


def test_it_works(house: House, api: dict[str, Api]) -> None:
    """Pixels, decoded, are the lot's code; the words are the lot's as well."""
    lot = house.lots["TH-302"]
    assert lot.good_to

    content = api["technician"].get(f"lots/{lot.uid}/label.pdf").content

    assert marks_of(content) == [[lot.code]]
    assert text_of(content) == (
        f"{lot.code} TH-302 TH-302 Lot TH-302-A Cured 2Q26 Good to {day(lot.good_to)}"
    )
    assert sizes_of(content) == [(62, 29)]
    assert is_grey(content)


def test_it_prints_every_lot_of_a_part_that_is_on_hand(house: House, api: dict[str, Api]) -> None:
    ring, old = house.lots["TH-302"], house.lots["old"]
    path = f"parts/{ring.part.uid}/labels.pdf"
    assert marks_of(api["counter"].get(path).content) == [[ring.code], [old.code]]

    data = {"verb": "scrap", "quantity": 10, "subject": "past its life"}
    api["storekeeper"].post(f"lots/{old.uid}/movements", data)

    assert marks_of(api["counter"].get(path).content) == [[ring.code]]
    api["storekeeper"].post(f"lots/{ring.uid}/movements", data)
    assert api["counter"].get(path).status_code == 404


def test_it_says_what_is_not_known_of_a_lot(house: House, api: dict[str, Api]) -> None:
    part = house.lots["TH-301"].part
    made = api["storekeeper"].post(f"parts/{part.uid}/lots", {"number": "B", "quantity": 1}).json()

    text = text_of(api["counter"].get(f"lots/{made['uid']}/label.pdf").content)

    assert text == f"{made['code']} TH-301 TH-301 Lot B Cure quarter not stated No last day"


@pytest.mark.parametrize("wide", ["W", "山"])
def test_it_keeps_long_names_on_the_label(house: House, api: dict[str, Api], wide: str) -> None:
    """Names as long as their columns stand whole, and the code beside them is read; the store may hold them anyhow."""
    lot = house.lots["TH-302"]
    number, name = wide * 40, "O-ring " * 8 + wide * 64
    Part.objects.filter(pk=lot.part_id).update(number=number, name=name)
    Lot.objects.filter(pk=lot.pk).update(number=wide * 60)
    place = Bin.objects.create(site=wide * 60, label=wide * 40)

    for address, mark, words in (
        (f"lots/{lot.uid}/label.pdf", lot.code, number + name + wide * 60),
        (f"bins/{place.uid}/label.pdf", place.code, wide * 100),
    ):
        content = api["counter"].get(address).content
        assert white_edges_mm(content) > 1.4
        assert marks_of(content) == [[mark]]
        assert text_of(content).count(wide) == words.count(wide)


def test_a_bin_has_a_label(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    place = Bin.objects.get()

    content = api["counter"].get(f"bins/{place.uid}/label.pdf").content

    assert marks_of(content) == [[place.code]]
    assert text_of(content) == f"{place.code} Store Workshop"
    assert sizes_of(content) == [(62, 29)]
    found = pages["counter"].get("/find", {"q": place.code.lower()})
    assert found["Location"] == f"/store/bins#bin-{place.uid}"


def test_a_label_leads_to_its_lot(house: House, pages: dict[str, Client]) -> None:
    lot = house.lots["TH-302"]
    assert pages["counter"].get("/find", {"q": lot.code})["Location"] == f"/store/lots/{lot.uid}"
    assert Findable.objects.get(subject=f"lot:{lot.uid}").number == "TH-302-A"


def test_labels_are_linked(house: House, pages: dict[str, Client]) -> None:
    lot, place = house.lots["TH-302"], Bin.objects.get()
    for address, link in (
        (f"/store/lots/{lot.uid}", f"/lots/{lot.uid}/label.pdf"),
        (f"/store/parts/{lot.part.uid}", f"/parts/{lot.part.uid}/labels.pdf"),
        ("/store/bins", f"/bins/{place.uid}/label.pdf"),
    ):
        assert f'href="{link}"' in pages["counter"].get(address).content.decode()
