"""The doors to papers: both give the same paper, to whoever may see, and to nobody else."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from shop.stock.models import Bin
from tests.conftest import Api, House
from tests.printed import text_of
from tests.rows import nothing_changes
from tests.walk import Walk


@pytest.fixture
def addresses(house: House, api: dict[str, Api]) -> dict[str, str]:
    """The address of every paper, each of a row that has one."""
    walk = Walk(house, api).to("signed_off")
    failed = Walk(house, api, "second_stage")
    record = failed.sign(outcome="failed", words="It breathes wet.", second=None, second_secret="").json()
    left = walk.hand_back().json()
    lot, store = house.lots["TH-302"], Bin.objects.get()
    return {
        f"lot-label-{lot.code}": f"lots/{lot.uid}/label.pdf",
        f"lot-labels-{lot.part.number}": f"parts/{lot.part.uid}/labels.pdf",
        f"bin-label-{store.code}": f"bins/{store.uid}/label.pdf",
        f"claim-ticket-{walk.row.drop_off.label}": f"drop-offs/{walk.drop_off}/ticket.pdf",
        f"bag-tags-{walk.row.drop_off.label}": f"drop-offs/{walk.drop_off}/tags.pdf",
        f"item-tag-{walk.item.label}": f"items/{walk.item.uid}/tag.pdf",
        f"work-sheet-{walk.row.number}": f"jobs/{walk.job}/sheet.pdf",
        f"bench-sheet-{walk.row.number}-{walk.item.label}": f"jobs/{walk.job}/bench-sheet.pdf",
        f"service-record-{failed.row.number}-{failed.item.label}": f"records/{record['uid']}/record.pdf",
        f"do-not-dive-{failed.row.number}-{failed.item.label}": f"records/{record['uid']}/do-not-dive.pdf",
        f"hand-back-{walk.row.drop_off.label}": f"hand-backs/{left['uid']}/slip.pdf",
    }


def test_it_works(addresses: dict[str, str], api: dict[str, Api], pages: dict[str, Client]) -> None:
    assert len(addresses) == 11
    for name, address in addresses.items():
        with nothing_changes():
            page, door = pages["counter"].get(f"/{address}"), api["counter"].get(address)
        for answer in (page, door):
            assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf"), name
            assert answer["Content-Disposition"] == f'inline; filename="{name}.pdf"'
            assert answer["Cache-Control"] == "no-store"
        assert page.content.startswith(b"%PDF-")
        assert text_of(page.content).split("Printed")[0] == text_of(door.content).split("Printed")[0]


def test_it_knows_no_paper_of_a_row_that_is_not_there(
    addresses: dict[str, str], api: dict[str, Api], pages: dict[str, Client]
) -> None:
    for address in addresses.values():
        first, _, last = address.split("/")
        for part in (str(uuid4()), "not-a-uid"):
            assert pages["counter"].get(f"/{first}/{part}/{last}").status_code == 404
            answer = api["counter"].get(f"{first}/{part}/{last}")
            assert (answer.status_code, answer["Content-Type"]) == (404, "application/problem+json")
            assert answer.json()["type"] == "/problems/not-found"


def test_it_shows_nothing_to_a_stranger(
    addresses: dict[str, str], api: dict[str, Api], pages: dict[str, Client]
) -> None:
    for address in addresses.values():
        assert pages["stranger"].get(f"/{address}")["Location"] == f"/sign-in?next=/{address}"
        answer = api["stranger"].get(address)
        assert (answer.status_code, answer["Content-Type"]) == (401, "application/problem+json")


@pytest.mark.parametrize(
    ("accept", "status"),
    [("application/pdf", 200), ("application/json", 200), ("*/*", 200), ("text/csv", 406)],
)
def test_it_may_be_asked_for_by_its_media_type(
    house: House, api: dict[str, Api], accept: str, status: int
) -> None:
    item: Any = house.item()

    assert api["counter"].get(f"items/{item.uid}/tag.pdf", Accept=accept).status_code == status


def test_it_refuses_in_json_even_when_a_pdf_was_asked_for(house: House, api: dict[str, Api]) -> None:
    answer = api["counter"].get(f"items/{uuid4()}/tag.pdf", Accept="application/pdf")

    assert (answer.status_code, answer["Content-Type"]) == (404, "application/problem+json")
    assert answer.json()["status"] == 404
