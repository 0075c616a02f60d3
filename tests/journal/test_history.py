"""Everything that was journalled about an item, a customer, a job: on one page each, and over the API."""

import re
from typing import Any

import pytest
from django.test import Client

from shop.customers.actions import change_customer
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.models import Words
from shop.journal.rules import readable
from tests.conftest import Api, House
from tests.photographs import encoded, form
from tests.rows import codes, said
from tests.walk import Walk, ok

UID = "3f2b8c1e-0000-4000-8000-00000000abcd"


@pytest.mark.parametrize(
    ("facts", "told"),
    [
        ({}, []),
        ({"from": "checked_in", "to": "cleared"}, [("from", "checked in"), ("to", "cleared")]),
        ({"owner": UID}, [("owner", "K-0007")]),
        ({"letter": "00000000-0000-4000-8000-000000000000"}, []),
        ({"of": f"item:{UID}"}, [("of", "K-0007")]),
        ({"sha256": "0" * 64, "digest": "", "lot": None, "version": 4}, []),
        (
            {"amount": 9500, "currency": "GBP", "how": "in person"},
            [("amount", "95.00 GBP"), ("how", "in person")],
        ),
        ({"torque_n_m": "28", "months": 24}, [("torque", "28 N·m"), ("months", "24")]),
        ({"acknowledged": True, "reminders": False}, [("acknowledged", "yes"), ("reminders", "no")]),
        ({"items": ["E-00001", "E-00002"], "counted": 0}, [("items", "E-00001, E-00002"), ("counted", "0")]),
    ],
)
def test_it_says_facts_in_words(facts: dict[str, Any], told: list[tuple[str, str]]) -> None:
    assert readable(facts, {UID: "K-0007"}) == told


def rows(api: Api, path: str) -> list[dict[str, Any]]:
    return list(ok(api.get(f"{path}/history?limit=200"))["results"])


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """An item with a photograph that was here and has gone again."""
    found = Walk(house, api).to("handed_back")
    path = f"items/{found.item.uid}/photographs"
    ok(api["counter"].post(path, form(encoded(), "the yoke"), format="multipart"), 201)
    return found


def test_it_works(walk: Walk, pages: dict[str, Client]) -> None:
    page = said(pages["storekeeper"].get(f"/jobs/{walk.job}/history"), 200)

    for words in ("checked in", "go-ahead taken", "handed back", "Ines Okafor", "from: <bdi>testing</bdi>"):
        assert words in page, words
    assert "collector: <bdi>Maja Lindqvist</bdi>" in page
    assert walk.job not in re.sub(r'href="[^"]*"', "", page), "no uid is shown to people"


def test_it_tells_of_an_item_and_its_jobs(walk: Walk) -> None:
    found = rows(walk.api["lead"], f"items/{walk.item.uid}")

    verbs = [row["verb"] for row in found]
    assert verbs[0] == "photographed"
    assert verbs[-1] == "added"
    assert {"clock set going", "clock restarted", "assigned", "step done", "tested", "signed off"} <= set(
        verbs
    )
    assert {row["subject"].partition(":")[0] for row in found} == {"item", "job"}
    assert [row["at"] for row in found] == sorted((row["at"] for row in found), reverse=True)
    assert found[-1]["who"] == "Bryn Castell"
    assert found[-1]["words"] == {"serial": "S-first_stage", "owners_mark": ""}


def test_it_tells_of_a_customer_and_what_is_theirs(walk: Walk) -> None:
    found = rows(walk.api["lead"], f"customers/{walk.house.customer.uid}")

    assert {row["subject"].partition(":")[0] for row in found} == {"customer", "item", "drop-off", "job"}


def test_it_tells_of_those_who_were_merged(walk: Walk, api: dict[str, Api]) -> None:
    new = ok(api["counter"].post("customers", {"kind": "person", "name": "M."}), 201)
    old = walk.house.customer
    other = walk.house.item(serial="TH-2")
    before = {row["hash"] for row in rows(api["lead"], f"customers/{old.uid}")}
    ok(api["counter"].post(f"items/{walk.item.uid}/merge", {"into": other.label}, seen=1))

    ok(api["counter"].post(f"customers/{old.uid}/merge", {"into": new["uid"]}, seen=1))

    assert before <= {row["hash"] for row in rows(api["lead"], f"customers/{new['uid']}")}
    told = {row["subject"] for row in rows(api["lead"], f"items/{other.uid}")}
    assert {f"item:{walk.item.uid}", f"job:{walk.job}"} <= told


def test_it_leaves_out_words_that_were_erased(walk: Walk, pages: dict[str, Client]) -> None:
    address = f"/items/{walk.item.uid}/history"
    assert "S-first_stage" in said(pages["lead"].get(address), 200)
    Words.objects.filter(entry__subject=f"item:{walk.item.uid}").update(salt="", text="")

    found = rows(walk.api["lead"], f"items/{walk.item.uid}")
    page = said(pages["lead"].get(address), 200)

    assert found[-1]["words"] is None
    assert "S-first_stage" not in page
    assert "personal words were erased" in page


def test_it_is_paged_without_missing_or_repeating_one(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    """A change that is made while somebody turns the pages moves nothing."""
    customer, counter = house.customer, house.people["counter"]
    for n in range(1, 121):
        change_customer(by=counter, customer=customer, seen=n, name=f"Name {n:03}")
    path, shown, turns = f"/customers/{customer.uid}/history", list[str](), 0
    query: str | None = ""
    while query is not None:
        page = said(pages["lead"].get(path + query), 200)
        shown += re.findall(r"name: <bdi>(Name \d+|Maja Lindqvist)</bdi>", page)
        older = re.search(r'href="(\?before=\d+)">Older', page)
        query, turns = (older[1] if older else None), turns + 1
        change_customer(by=counter, customer=customer, seen=120 + turns, name="Later")

    assert turns == 3
    assert shown == [f"Name {n:03}" for n in range(120, 0, -1)] + ["Maja Lindqvist"]


@pytest.mark.parametrize("before", ["x", "-1", "0", "9" * 40, "²", "", "1'"])
def test_it_never_faults_on_a_made_up_page(walk: Walk, pages: dict[str, Client], before: str) -> None:
    assert pages["lead"].get(f"/jobs/{walk.job}/history", {"before": before}).status_code == 200


@pytest.mark.parametrize("kind", ["items", "customers", "jobs"])
def test_it_is_for_those_who_may_see(walk: Walk, kind: str, pages: dict[str, Client]) -> None:
    uid = {"items": walk.item.uid, "customers": walk.house.customer.uid, "jobs": walk.job}[kind]
    gone = "00000000-0000-4000-8000-000000000000"

    assert codes(walk.api["stranger"].get(f"{kind}/{uid}/history"), 401) == []
    assert Client().get(f"/{kind}/{uid}/history").status_code == 302
    assert codes(walk.api["lead"].get(f"{kind}/{gone}/history"), 404) == []
    assert pages["lead"].get(f"/{kind}/{gone}/history").status_code == 404
    assert Item.objects.exists()
    assert Customer.objects.exists()
