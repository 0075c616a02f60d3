"""Idempotency-Key: a repeat is answered as before, another request under the key is refused."""

import hashlib
import json
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.base import ContentFile

from jobs.flow.models import DropOff
from shop.api.actions import digest_of, forget_answers
from shop.api.models import Answer
from shop.api.tasks import forget
from shop.celery import app
from shop.customers.models import Customer
from shop.workshop.reads import at, now
from tests.conftest import Api, House
from tests.rows import codes, hidden, nothing_changes, pointers, said
from tests.walk import ok

DATA = {"kind": "person", "name": "Tomas Ferrier", "reminders": False}


def test_it_works(house: House, api: dict[str, Api]) -> None:
    first = api["counter"].post("customers", DATA, key="one-key")
    with nothing_changes():
        again = api["counter"].post("customers", DATA, key="one-key")

    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert "Idempotent-Replay" not in first
    assert again["Idempotent-Replay"] == "true"
    assert again["ETag"] == first["ETag"] == '"1"'


def test_it_refuses_another_body_under_the_same_key(house: House, api: dict[str, Api]) -> None:
    ok(api["counter"].post("customers", DATA, key="one-key"), 201)

    with nothing_changes():
        answer = api["counter"].post("customers", DATA | {"name": "Tomas F."}, key="one-key")

    assert codes(answer, 422) == []
    assert answer.json()["type"] == "/problems/key-reused"


def test_it_refuses_another_address_under_the_same_key(house: House, api: dict[str, Api]) -> None:
    ok(api["lead"].post("customers", DATA, key="one-key"), 201)
    model = {"maker": "Pellmoor", "name": "Brae", "kind": "first_stage"}

    with nothing_changes():
        assert api["lead"].post("models", model, key="one-key").status_code == 422


def test_it_keeps_the_keys_of_two_people_apart(house: House, api: dict[str, Api]) -> None:
    ok(api["counter"].post("customers", DATA, key="one-key"), 201)
    ok(api["lead"].post("customers", DATA, key="one-key"), 201)

    assert Customer.objects.filter(name="Tomas Ferrier").count() == 2


def test_it_keeps_no_refusal_so_that_the_key_may_be_used_again(house: House, api: dict[str, Api]) -> None:
    line = {
        "item": str(house.item().uid), "plan": str(house.plans["second_stage"].uid), "contents": "no gas",
    }  # fmt: skip
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    assert codes(api["counter"].post("drop-offs", data, key="one-key")) == ["wrong-plan"]

    data["lines"] = [line | {"plan": str(house.plans["first_stage"].uid)}]
    ok(api["counter"].post("drop-offs", data, key="one-key"), 201)

    assert DropOff.objects.count() == 1


@pytest.mark.parametrize(
    "header",
    [
        None,
        "",
        '""',
        "no-quotes",
        '"open',
        "'single'",
        '"a b"',
        f'"{"k" * 99}"',
        '"a"b"',
        '"kö"',
        '"back\\slash"',
    ],
)
def test_it_refuses_a_missing_or_malformed_key(house: House, api: dict[str, Api], header: str | None) -> None:
    headers = {} if header is None else {"Idempotency-Key": header}

    with nothing_changes():
        answer = api["counter"].client.post("/api/v1/customers", DATA, headers=headers, format="json")

        bad = api["counter"].client.post("/api/v1/customers", {}, headers=headers, format="json")
        cut = api["counter"].client.post(
            "/api/v1/customers", "{", headers=headers, content_type="application/json"
        )

    assert pointers(answer) == ["/Idempotency-Key"]
    assert pointers(bad) == ["/Idempotency-Key", "/kind", "/name"]
    assert pointers(cut) == ["", "/Idempotency-Key"]
    assert (bad.status_code, cut.status_code) == (400, 400)


def test_it_takes_the_longest_key(house: House, api: dict[str, Api]) -> None:
    ok(api["counter"].post("customers", DATA, key="k" * 98), 201)


def test_it_forgets_a_key_after_a_day(house: House, api: dict[str, Api]) -> None:
    ok(api["counter"].post("customers", DATA, key="one-key"), 201)

    with at(now() + timedelta(hours=23)):
        forget()
        assert api["counter"].post("customers", DATA, key="one-key")["Idempotent-Replay"] == "true"
    with at(now() + timedelta(hours=25)):
        forget()
        assert "Idempotent-Replay" not in api["counter"].post("customers", DATA, key="one-key")

    assert Customer.objects.filter(name="Tomas Ferrier").count() == 2


def test_it_deletes_no_answer_while_a_request_waits(house: House, api: dict[str, Api]) -> None:
    """Emptying the table is the beat's work: a person who adds something must not wait for it."""
    ok(api["counter"].post("customers", DATA, key="one-key"), 201)

    with at(now() + timedelta(hours=25)):
        ok(api["counter"].post("customers", DATA, key="other-key"), 201)
        assert Answer.objects.count() == 2
        assert forget_answers() == 1

    assert Answer.objects.get().key == "other-key"


def test_it_has_the_beat_forget_once_an_hour() -> None:
    (entry,) = [e for e in app.conf.beat_schedule.values() if e["task"] == forget.name]

    assert entry["schedule"] == 3600.0


def test_it_keeps_no_digest_that_a_password_could_be_guessed_from(settings: Any) -> None:
    """Whoever reads the table without the secret key can try no words against it."""
    sent = ("POST", "/api/v1/people", {"password": "a lantern at slack water"})
    digest = digest_of(*sent)
    plain = hashlib.sha256(json.dumps(sent, sort_keys=True).encode()).hexdigest()

    assert (digest, len(digest)) == (digest_of(*sent), 64)
    assert digest != plain
    settings.SECRET_KEY = "another workshop's"
    assert digest_of(*sent) != digest


def test_it_counts_a_file_by_its_bytes() -> None:
    """Name and size may be equal."""
    one, same, other = (ContentFile(text, "trace.csv") for text in (b"1,2", b"1,2", b"1,3"))

    assert digest_of("POST", "/", {"file": one}) == digest_of("POST", "/", {"file": same})
    assert digest_of("POST", "/", {"file": one}) != digest_of("POST", "/", {"file": other})


def test_it_makes_one_row_for_a_double_click_on_a_page(house: House, pages: dict[str, Any]) -> None:
    client = pages["counter"]
    typed = {"kind": "person", "name": "Tomas Ferrier", "once": hidden(client.get("/customers/new"), "once")}

    first = client.post("/customers/new", typed)
    with nothing_changes():
        second = client.post("/customers/new", typed)

    assert (first.status_code, second.status_code) == (302, 302)
    assert first["Location"] == second["Location"]
    assert Customer.objects.filter(name="Tomas Ferrier").count() == 1


def test_it_refuses_other_words_under_the_key_of_a_page(house: House, pages: dict[str, Any]) -> None:
    client = pages["counter"]
    typed = {"kind": "person", "name": "Tomas Ferrier", "once": "one-form"}
    client.post("/customers/new", typed)

    with nothing_changes():
        page = client.post("/customers/new", typed | {"name": "Tomas F."})

    assert "This form was sent before with other words" in said(page, 422)
    assert hidden(page, "once") != "one-form"


def test_it_keeps_keys_of_pages_and_of_the_api_apart(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    pages["counter"].post("/customers/new", {"kind": "person", "name": "Tomas Ferrier", "once": "one-key"})
    ok(api["counter"].post("customers", DATA, key="one-key"), 201)

    assert sorted(Answer.objects.values_list("key", flat=True)) == ["one-key", "page one-key"]
