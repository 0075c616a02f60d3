"""The tag that stays on an item, read back."""

from django.test import Client

from tests.conftest import Api, House
from tests.printed import is_grey, marks_of, sizes_of, text_of


def test_it_works(house: House, api: dict[str, Api]) -> None:
    content = api["counter"].get(f"items/{house.item(serial='TH-7').uid}/tag.pdf").content

    assert text_of(content) == "E-00001 First stage, Tarnwell Hesk serial TH-7"
    assert marks_of(content) == [["E-00001"]]
    assert sizes_of(content) == [(62, 29)]
    assert is_grey(content)


def test_it_says_that_the_serial_cannot_be_read(house: House, api: dict[str, Api]) -> None:
    text = text_of(api["counter"].get(f"items/{house.item(serial='').uid}/tag.pdf").content)

    assert text == "E-00001 First stage, Tarnwell Hesk serial unreadable"


def test_it_is_linked_from_the_item(house: House, pages: dict[str, Client]) -> None:
    item = house.item()

    assert f'href="/items/{item.uid}/tag.pdf"' in pages["counter"].get(f"/items/{item.uid}").content.decode()
