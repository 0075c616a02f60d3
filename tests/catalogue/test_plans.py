"""Issuing a plan over both doors: checked as a whole, then frozen."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from shop.catalogue.models import PlanVersion
from tests.conftest import Api, House
from tests.plans import Document, document
from tests.rows import codes, nothing_changes, pointers, said, send, sentences
from tests.walk import ok


def issue(house: House, api: dict[str, Api], made: Any, key: str = "overhaul") -> Any:
    path = f"models/{house.models['first_stage'].uid}/plans"
    return api["lead"].post(path, {"key": key, "document": made})


def test_it_works(house: House, api: dict[str, Api]) -> None:
    body = ok(issue(house, api, document() | {"title": "Overhaul, revised"}), 201)
    other = ok(issue(house, api, document(), key="inspection"), 201)

    assert (body["n"], other["n"]) == (2, 1)
    assert body["document"]["title"] == "Overhaul, revised"
    assert body["digest"] != other["digest"]
    assert house.plans["first_stage"].n == 1


def test_it_refuses_a_plan_that_does_not_hang_together(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    made = document()
    made["legs"].remove("cleaning")
    made["tests"][1]["bounds"][0]["low"] = "11"
    found = [
        "Step wash is on a leg that the plan does not have: cleaning.",
        "Lock-up at 50 bar: the low limit of Lock-up at 50 bar is above the high one.",
    ]

    with nothing_changes():
        assert sentences(issue(house, api, made)) == found
        path = f"/office/models/{house.models['first_stage'].uid}/issue"
        page = send(pages["lead"], path, {"key": "overhaul", "document": json.dumps(made)})

    for sentence in found:
        assert sentence in said(page)


def test_it_refuses_a_limit_that_only_an_exponent_can_write(house: House, api: dict[str, Api]) -> None:
    made = document()
    made["tests"][1]["bounds"][0]["high"] = "1e30"

    with nothing_changes():
        answer = issue(house, api, made)

    assert codes(answer) == ["plan-limit"]
    assert sentences(answer) == ["Lock-up at 50 bar: Lock-up at 50 bar needs a low or high limit in figures."]


@pytest.mark.parametrize("text", ["", "{", "[]", "null", "7", "[" * 100_000, '{"title": "\\ud800"}', "{}"])
def test_it_refuses_a_text_that_is_no_plan(house: House, pages: dict[str, Any], text: str) -> None:
    path = f"/office/models/{house.models['first_stage'].uid}/issue"

    with nothing_changes():
        page = pages["lead"].post(path, {"key": "overhaul", "document": text, "once": "k"})

    assert 'class="field-error"' in said(page, 400)


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to every value within a document."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, each in inside:
        yield (*path, key)
        yield from places(each, (*path, key))


def put(made: Document, path: tuple[Any, ...], value: Any) -> None:
    for key in path[:-1]:
        made = made[key]
    made[path[-1]] = value


@pytest.mark.parametrize("junk", [{"a": []}, "\0", "\ud800", 1e400, None], ids=repr)
def test_it_never_faults_on_junk_anywhere_in_a_plan(house: House, api: dict[str, Api], junk: Any) -> None:
    small = document("second_stage")
    small["parts"], small["steps"] = small["parts"][:1], small["steps"][:1]
    small["steps"][0]["frees"], small["tests"] = ["cover"], small["tests"][:1]
    headers = {"Idempotency-Key": '"k"'}
    path = f"/api/v1/models/{house.models['first_stage'].uid}/plans"

    with nothing_changes():
        for place in places(small):
            made = json.loads(json.dumps(small))
            put(made, place, junk)
            body = json.dumps({"key": "overhaul", "document": made})
            answer = api["lead"].client.generic("POST", path, body, "application/json", headers=headers)
            assert answer.status_code in (400, 409), (place, answer.content)


def test_it_names_the_place_of_what_is_wrong(house: House, api: dict[str, Api]) -> None:
    made = document()
    made["steps"][2]["minutes"] = "long"
    made["clock"]["months"] = 0
    made["tests"][0]["bounds"][1]["decision"] = "generous"
    del made["parts"][0]["name"]
    made["colour"] = "red"

    with nothing_changes():
        found = pointers(issue(house, api, made))

    assert found == [
        "/document/clock/months",
        "/document/colour",
        "/document/parts/0/name",
        "/document/steps/2/minutes",
        "/document/tests/0/bounds/1/decision",
    ]


def test_it_freezes_what_was_issued(house: House) -> None:
    row = house.plans["first_stage"]

    for statement in ("UPDATE catalogue_planversion SET n = 7", "DELETE FROM catalogue_planversion"):
        with (
            pytest.raises(DatabaseError, match="append-only"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)

    assert PlanVersion.objects.get(pk=row.pk).document == document()


def test_it_refuses_a_model_twice(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    data = {"maker": "Tarnwell", "name": "Hesk", "kind": "first_stage"}

    with nothing_changes():
        assert codes(api["lead"].post("models", data)) == ["model-taken"]
        page = send(pages["lead"], "/office/models/new", data)

    assert "This model stands in the catalogue already." in said(page)
