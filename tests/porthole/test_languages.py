"""The pages under a private link speak the language of whoever it was sent to; staff's own words stay as typed."""

import pytest
from django.test import Client

from jobs.bookings.actions import set_days
from jobs.porthole.actions import share
from jobs.porthole.rules import MOST_OPEN
from shop.clocks.models import Clock
from shop.customers.models import Customer
from shop.words.reads import table
from tests.answers.made import linked as answering
from tests.answers.made import overdue
from tests.conftest import Api, House
from tests.porthole.made import linked, pictured
from tests.rows import said, send
from tests.walk import Walk, ok

CAUTION = {
    "de": "sie macht Ausrüstung nicht sicher",
    "fr": "elle ne rend pas le matériel sûr",
    "es": "no hace seguro el equipo",
}


def english(page: str) -> list[str]:
    """Sentences of ours that a page says in English."""
    words = [text for text, row in table("pages").items() if text not in row]
    return [text for text in words if "{" not in text and len(text) > 12 and text in page]


def test_it_works(house: House, api: dict[str, Api]) -> None:
    """From check-in to hand-back our words are theirs, and what people typed is as it was typed."""
    Customer.objects.update(language="de", name="دلال الحدّاد")
    walk = Walk(house, api)
    share(by=house.people["counter"], photograph=pictured(walk, "The yoke, as it came"))
    path, client = linked(walk.row.drop_off), Client()
    send(client, f"{path}/ask", {"text": "When?"})

    pages = [said(client.get(path), 200)]
    walk.to("signed_off")
    pages.append(said(client.get(path), 200))
    ok(walk.hand_back(), 201)
    Clock.objects.update(title="Our own yearly look")
    pages.append(said(client.get(path), 200))
    assert [english(page) for page in pages] == [[], [], []]
    assert all('<html lang="de" dir="ltr">' in page and "The yoke, as it came" in page for page in pages)
    assert "Our own yearly look" in pages[2]


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_it_cautions_in_it(house: House, api: dict[str, Api], language: str) -> None:
    Customer.objects.update(language=language)

    page = said(Client().get(linked(Walk(house, api).row.drop_off)), 200)
    assert CAUTION[language] in page
    assert english(page) == []


def test_it_says_amounts_and_refusals_in_it(house: House, api: dict[str, Api]) -> None:
    Customer.objects.update(language="de")
    walk = Walk(house, api)
    path, client = linked(walk.row.drop_off), Client()
    ok(api["counter"].post(f"drop-offs/{walk.drop_off}/quotes", {"amount": "250.00"}), 201)
    page = said(client.get(f"{path}/go-ahead"), 200)
    assert "250,00 GBP" in page
    assert english(page) == []

    for n in range(MOST_OPEN):
        send(client, f"{path}/ask", {"text": f"{n}?"})
    assert "Mehrere Ihrer Fragen warten schon" in said(send(client, f"{path}/ask", {"text": "?"}), 409)
    assert "Dieses Feld darf nicht leer sein." in said(send(client, f"{path}/ask", {"text": ""}), 400)


def test_it_answers_letters_in_it(house: House) -> None:
    """What the link of a reminder opens: the list, each of its forms, and what is wrong with one."""
    Customer.objects.update(language="fr")
    set_days(by=house.people["lead"], seen=1, a_day=2, horizon=30)
    overdue(house)
    path, client = answering(house), Client()
    ways = ("", "/elsewhere", "/gone", "/address", "/book", "/fewer", "/one-click")

    found = {way: said(client.get(path + way), 200) for way in ways}
    assert {way: english(page) for way, page in found.items()} == {way: [] for way in ways}
    assert "Premier étage, Tarnwell Hesk" in found["/elsewhere"]
    assert "Entretien" in found["/elsewhere"]
    assert "Choisissez dans la liste." in said(send(client, f"{path}/gone", {"said": "eaten"}), 400)
