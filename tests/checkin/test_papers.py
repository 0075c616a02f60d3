"""The claim ticket and the bag tags, read back."""

from typing import Any

import pytest
from django.test import Client

from shop.gear.models import Item
from tests.conftest import Api, House
from tests.printed import is_grey, marks_of, sizes_of, text_of, white_edges_mm
from tests.rows import said
from tests.walk import Walk, ok


def dropped_off(house: House, api: dict[str, Api], lines: list[tuple[Item, dict[str, Any]]]) -> str:
    """The uid of a drop-off with these lines."""
    given = [
        {"item": str(item.uid), "plan": str(house.plans[item.model.kind].uid), "contents": "no gas"} | more
        for item, more in lines
    ]
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-05", "lines": given}
    return str(ok(api["counter"].post("drop-offs", data), 201)["uid"])


@pytest.fixture
def two(house: House, api: dict[str, Api]) -> str:
    """A drop-off of a first stage under pressure and a second stage."""
    words = {"words": "It hisses below 30 m.", "condition": "Yoke scratched.", "contents": "under pressure"}
    return dropped_off(
        house, api, [(house.item(serial="TH-7"), words), (house.item("second_stage", "TS-8"), {})]
    )


def test_it_works(two: str, api: dict[str, Api]) -> None:
    content = api["counter"].get(f"drop-offs/{two}/ticket.pdf").content

    text = text_of(content)
    for expected in (
        "Aldermouth Dive Workshop Claim ticket C-0001",
        "customer Maja Lindqvist",
        "taken in by Bryn Castell",
        "promised for 5 Jan 2199",
        "C-0001-1 First stage, Tarnwell Hesk",
        "E-00001, serial TH-7",
        "Service: Overhaul.",
        "Seen: Yoke scratched.",
        "Gas inside when it came: under pressure.",
        "It hisses below 30 m.",
        "C-0001-2 Second stage, Tarnwell Hesk",
        "E-00002, serial TS-8",
        "Gas inside when it came: no gas.",
        "Bring this ticket when you collect.",
        "page 1 of 1",
    ):
        assert expected in text
    assert marks_of(content) == [["C-0001"]]
    assert is_grey(content)


def test_it_names_an_amount_only_once_somebody_agreed_to_it(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    path = f"drop-offs/{walk.drop_off}/ticket.pdf"
    before = text_of(api["counter"].get(path).content)
    ok(walk.go_ahead("120.50"), 201)

    after = text_of(api["counter"].get(path).content)

    assert "GBP" not in before
    assert "95" not in before.split("Printed")[0]
    assert "go-ahead up to 120.50 GBP, given by Maja Lindqvist, in person" in after.replace("\u200e", "")


def test_it_prints_sixty_lines_on_the_ticket_and_sixty_tags(house: House, api: dict[str, Api]) -> None:
    words = {"words": "It hisses below 30 m, and it was left in the sun. " * 3}
    uid = dropped_off(house, api, [(house.item(serial=f"TH-{n}"), words) for n in range(1, 61)])

    ticket = api["counter"].get(f"drop-offs/{uid}/ticket.pdf").content
    tags = api["counter"].get(f"drop-offs/{uid}/tags.pdf").content

    text = text_of(ticket)
    assert [
        f"C-0001-{n} First" in text and f"E-000{n:02d}, serial TH-{n} " in text for n in range(1, 61)
    ] == [True] * 60
    assert text.count("left in the sun.") == 180
    assert white_edges_mm(ticket) > 12
    assert marks_of(tags) == [[f"C-0001-{n}"] for n in range(1, 61)]


def test_it_says_on_the_tag_that_it_is_under_pressure(two: str, api: dict[str, Api]) -> None:
    content = api["counter"].get(f"drop-offs/{two}/tags.pdf").content

    assert sizes_of(content) == [(62, 29), (62, 29)]
    assert marks_of(content) == [["C-0001-1"], ["C-0001-2"]]
    assert text_of(content) == (
        "C-0001-1 Maja Lindqvist First stage, Tarnwell Hesk UNDER PRESSURE "
        "C-0001-2 Maja Lindqvist Second stage, Tarnwell Hesk no gas inside"
    )
    assert is_grey(content)


def test_it_no_longer_says_so_once_it_is_confirmed_empty(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api, contents="under pressure")
    ok(api["technician"].post(f"jobs/{walk.job}/empty"))

    text = text_of(api["counter"].get(f"drop-offs/{walk.drop_off}/tags.pdf").content)

    assert "confirmed empty" in text
    assert "UNDER PRESSURE" not in text


def test_it_prints_ticket_and_tags_on_one_paper(two: str, house: House, api: dict[str, Api]) -> None:
    content = api["counter"].get(f"drop-offs/{two}/papers.pdf").content

    assert sizes_of(content) == [(210, 297)]
    assert marks_of(content) == [["C-0001", "C-0001-1", "C-0001-2"]]
    assert "Bring this ticket when you collect." in text_of(content)
    assert "UNDER PRESSURE" in text_of(content)
    assert white_edges_mm(content) > 12
    assert is_grey(content)


def test_it_cuts_no_tag_in_two(house: House, api: dict[str, Api]) -> None:
    uid = dropped_off(house, api, [(house.item(serial=f"TH-{n}"), {}) for n in range(1, 30)])

    content = api["counter"].get(f"drop-offs/{uid}/papers.pdf").content

    found = [mark for page in marks_of(content) for mark in page if mark != "C-0001"]
    assert sorted(found) == sorted(f"C-0001-{n}" for n in range(1, 30))
    assert white_edges_mm(content) > 12


def test_it_prints_a_name_of_any_script(house: House, api: dict[str, Api]) -> None:
    house.customer.name = "山田太郎 김철수"
    house.customer.save()
    walk = Walk(house, api)

    for name in ("ticket", "tags"):
        assert "山田太郎 김철수" in text_of(
            api["counter"].get(f"drop-offs/{walk.drop_off}/{name}.pdf").content
        )


def test_it_is_linked_from_the_drop_off(two: str, pages: dict[str, Client]) -> None:
    page = pages["counter"].get(f"/drop-offs/{two}")

    assert "Claim ticket (PDF)" in said(page, 200)
    assert f'href="/drop-offs/{two}/ticket.pdf"' in page.content.decode()
    assert f'href="/drop-offs/{two}/tags.pdf"' in page.content.decode()
