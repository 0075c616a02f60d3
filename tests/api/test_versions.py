"""ETag and If-Match: a change names the version it saw."""

from typing import Any

import pytest

from shop.customers.models import Customer
from tests.conftest import Api, House
from tests.rows import hidden, nothing_changes, said, send
from tests.walk import Walk, ok

DATA = {"kind": "person", "name": "Maja Lindqvist-Ferrier", "reminders": True}


def test_it_works(house: House, api: dict[str, Api]) -> None:
    path = f"customers/{house.customer.uid}"
    seen = api["counter"].get(path)["ETag"]

    answer = api["counter"].client.put(f"/api/v1/{path}", DATA, headers={"If-Match": seen}, format="json")

    assert (seen, ok(answer)["version"], answer["ETag"]) == ('"1"', 2, '"2"')


def test_it_answers_304_to_who_has_the_newest(house: House, api: dict[str, Api]) -> None:
    path = f"customers/{house.customer.uid}"

    assert api["counter"].get(path, **{"If-None-Match": '"1"'}).status_code == 304
    assert api["counter"].get(path, **{"If-None-Match": '"2"'}).status_code == 200


@pytest.mark.parametrize(
    "tag", ['"2"', '"0"', 'W/"1"', "1", '"one"', '"-1"', '"1", "2"', "*", '"' + "9" * 30 + '"']
)
def test_it_refuses_a_stale_weak_or_foreign_tag(house: House, api: dict[str, Api], tag: str) -> None:
    path = f"/api/v1/customers/{house.customer.uid}"

    with nothing_changes():
        answer = api["counter"].client.put(path, DATA, headers={"If-Match": tag}, format="json")

    assert (answer.status_code, answer.json()["type"]) == (412, "/problems/stale")


def test_it_asks_for_if_match_on_every_change(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    key = {"Idempotency-Key": '"k"'}
    changes: list[tuple[str, str, dict[str, Any]]] = [
        ("counter", f"jobs/{walk.job}/moves", {"to": "cleared"}),
        ("lead", f"jobs/{walk.job}/assign", {"technician": str(house.people["technician"].uid)}),
        ("technician", f"jobs/{walk.job}/sign-offs", {"outcome": "failed", "words": "x", "secret": "y"}),
        ("counter", f"drop-offs/{walk.drop_off}/hand-backs", {"collector": "Maja", "items": ["E-00001"]}),
    ]

    with nothing_changes():
        answers = [
            api[who].client.post(f"/api/v1/{path}", data, headers=key, format="json")
            for who, path, data in changes
        ]
        answers.append(
            api["counter"].client.put(f"/api/v1/customers/{house.customer.uid}", DATA, format="json")
        )

    assert [answer.status_code for answer in answers] == [428] * 5


def test_it_refuses_the_second_of_two_pages_and_shows_what_was_typed(
    house: House, pages: dict[str, Any]
) -> None:
    path = f"/customers/{house.customer.uid}/change"
    seen = hidden(pages["lead"].get(path), "seen")
    send(pages["counter"], path, {"kind": "person", "name": "Maja Ferrier"})

    with nothing_changes():
        page = pages["lead"].post(path, {"kind": "person", "name": "Maja L.", "seen": seen, "once": "k"})

    assert "Maja L." in said(page, 412)
    assert Customer.objects.get().name == "Maja Ferrier"
    # The page now carries the newest version, so that a second, deliberate send goes through.
    again = {"kind": "person", "name": "Maja L.", "seen": hidden(page, "seen"), "once": hidden(page, "once")}
    assert pages["lead"].post(path, again).status_code == 302
