"""Asking for what is not collected, and disposing of it after recorded letters."""

from datetime import timedelta
from typing import Any

import pytest

from jobs.flow.models import Custody
from jobs.handback.models import Disposal
from shop.customers.models import Customer
from shop.post.models import Letter
from shop.workshop.models import Workshop
from shop.workshop.reads import at, noon, today
from tests.conftest import Api, House
from tests.porthole.test_letters import message
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok


def ask(walk: Walk, how: str, days_ago: int = 0) -> Any:
    with at(noon(today() - timedelta(days=days_ago))):
        return walk.api["counter"].post(f"drop-offs/{walk.drop_off}/asked", {"how": how})


def dispose(walk: Walk, role: str = "lead") -> Any:
    given = {"how": "Given to the scrap dealer."}
    return walk.api[role].post(f"jobs/{walk.job}/dispose", given, seen=walk.row.version)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")

    ok(ask(walk, "e-mail"), 201)

    letter = Letter.objects.get(purpose="ready to collect")
    assert (letter.address, letter.subject) == (
        "maja@lindqvist.example",
        "Your diving gear is ready to collect",
    )
    assert b"First stage, Tarnwell Hesk, E-00001" in bytes(letter.body)
    assert b"Opening hours" not in bytes(letter.body), "nothing is said where the workshop says nothing"
    with nothing_changes():
        assert codes(ask(walk, "e-mail")) == ["asked-today"]


def test_it_writes_in_the_language_of_the_customer(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    Customer.objects.update(language="fr")
    Workshop.objects.update(hours="mardi à samedi, 10 h à 18 h")

    ok(ask(walk, "e-mail"), 201)

    letter = Letter.objects.get(purpose="ready to collect")
    assert letter.subject == "Votre matériel de plongée est prêt"
    text = message(letter).get_body(("plain",)).get_content()
    assert "Premier étage, Tarnwell Hesk, E-00001" in text
    assert "Heures d'ouverture :\r\nmardi à samedi, 10 h à 18 h" in text


def test_it_asks_for_nothing_that_is_not_ready(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes():
        assert codes(ask(walk, "telephone")) == ["nothing-ready"]


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        ([], "letters-missing"),
        ([("e-mail", 60)], "letters-missing"),
        ([("e-mail", 60), ("telephone", 50)], "letters-missing"),
        ([("e-mail", 60), ("paper letter", 27)], "too-soon"),
    ],
)
def test_it_disposes_of_nothing_too_early(
    house: House, api: dict[str, Api], asked: list[tuple[str, int]], code: str
) -> None:
    walk = Walk(house, api).to("signed_off")
    for how, days in asked:
        ok(ask(walk, how, days), 201)

    with nothing_changes():
        assert codes(dispose(walk)) == [code]


def test_it_disposes_after_two_letters_and_a_wait(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("signed_off")
    ok(ask(walk, "e-mail", 60), 201)
    ok(ask(walk, "paper letter", 28), 201)
    with nothing_changes():
        assert dispose(walk, "counter").status_code == 403

    ok(dispose(walk), 201)

    assert (walk.row.leg, Disposal.objects.get().how) == ("disposed", "Given to the scrap dealer.")
    assert Custody.objects.order_by("-pk")[0].where == "gone"
    assert "disposed of" in said(pages["lead"].get(f"/jobs/{walk.job}"), 200)
    with nothing_changes():
        assert codes(dispose(walk)) == ["job-ended"]


def test_it_hands_a_bag_without_a_job_back(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    bags = [{"words": "a hose"}, {"words": "two port plugs", "state": "parts only"}]
    given = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": bags}
    made = ok(api["counter"].post("drop-offs", given), 201)
    path = f"/drop-offs/{made['uid']}/hand-back"

    with nothing_changes():
        page = send(pages["counter"], path, {"collector": "Maja Lindqvist", "items": "C-0001-1 C-0001-2"})
    assert "C-0001-1 is not serviced: the collector must acknowledge “do not dive”." in said(page)
    assert send(pages["counter"], path, {"collector": "Maja", "items": "C-0001-2"}).status_code == 302
    leaves = {"collector": "Maja", "items": ["C-0001-1"], "acknowledged": True}
    ok(api["counter"].post(f"drop-offs/{made['uid']}/hand-backs", leaves, seen=2), 201)

    assert [row.where for row in Custody.objects.order_by("pk")] == ["here", "here", "gone", "gone"]
