"""Every error that the API's doors give is a problem document after RFC 9457.

The shape below was written from RFC 9457, section 3.1: five members, each optional, `type` and `instance` URI
references, `title` and `detail` texts, `status` a number that section 3.1.2 wants equal to the response's own. The
project promises more: it always sends all five. The media type is section 3's.
"""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from jsonschema import Draft202012Validator

from tests.conftest import Api, House
from tests.walk import Walk

SHAPE = {
    "type": "object",
    "required": ["type", "title", "status", "detail", "instance"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference", "pattern": "^/problems/[a-z-]+$"},
        "title": {"type": "string", "minLength": 1},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string", "minLength": 1},
        "instance": {"type": "string", "format": "uri-reference", "pattern": "^urn:uuid:[0-9a-f-]{36}$"},
        "errors": {
            "type": "array",
            "minItems": 1,
            "items": {
                "type": "object",
                "required": ["code", "detail", "pointer"],
                "additionalProperties": False,
                "properties": {
                    "code": {"type": "string", "minLength": 1},
                    "detail": {"type": "string", "minLength": 1},
                    "pointer": {"type": "string"},
                },
            },
        },
    },
    "additionalProperties": False,
}
CUSTOMER = {"kind": "person", "name": "Tomas Ferrier"}
KEY = {"Idempotency-Key": '"one-key"'}
Give = Callable[[Walk, dict[str, Api]], Any]


def customers(api: Api, **more: Any) -> Any:
    return api.client.post("/api/v1/customers", CUSTOMER, **({"format": "json", "headers": KEY} | more))


def change(api: Api, walk: Walk, **headers: str) -> Any:
    path = f"/api/v1/customers/{walk.house.customer.uid}"
    return api.client.put(path, CUSTOMER, format="json", headers=headers)


def twice(api: Api) -> Any:
    customers(api)
    return api.client.post("/api/v1/customers", CUSTOMER | {"name": "T. F."}, format="json", headers=KEY)


def raw(api: Api, body: Any) -> Any:
    return api.client.generic("POST", "/api/v1/customers", body, "application/json", headers=KEY)


# One or more ways to each status, with the type that stands for it.
WAYS: list[tuple[int, str, Give]] = [
    (400, "invalid", lambda walk, api: raw(api["counter"], b'{"colour": 1}')),
    (400, "invalid", lambda walk, api: raw(api["counter"], b"{")),
    (400, "invalid", lambda walk, api: raw(api["counter"], b"[" * 100_000)),
    (400, "invalid", lambda walk, api: raw(api["counter"], b'{"\\ud800": 1}')),
    (400, "invalid", lambda walk, api: customers(api["counter"], headers={})),
    (401, "not-signed-in", lambda walk, api: api["stranger"].get("customers")),
    (401, "not-signed-in", lambda walk, api: customers(api["stranger"])),
    (401, "not-signed-in", lambda walk, api: api["stranger"].get("customers", Authorization="Token x")),
    (403, "no-right", lambda walk, api: customers(api["storekeeper"])),
    (404, "not-found", lambda walk, api: api["counter"].get("jobs/00000000-0000-0000-0000-000000000000")),
    (404, "not-found", lambda walk, api: api["counter"].get("jobs/x")),
    (404, "not-found", lambda walk, api: api["counter"].get("nowhere")),
    (404, "not-found", lambda walk, api: api["counter"].get("customers?after=x")),
    (405, "method", lambda walk, api: api["counter"].client.delete("/api/v1/customers")),
    (406, "not-acceptable", lambda walk, api: api["counter"].get("customers", Accept="text/html")),
    (409, "refused", lambda walk, api: walk.move("testing")),
    (412, "stale", lambda walk, api: change(api["counter"], walk, **{"If-Match": '"7"'})),
    (412, "stale", lambda walk, api: change(api["counter"], walk, **{"If-Match": 'W/"1"'})),
    (415, "media-type", lambda walk, api: api["counter"].client.post(
        "/api/v1/customers", "name=x", content_type="text/plain", headers=KEY,
    )),
    (422, "key-reused", lambda walk, api: twice(api["counter"])),
    (428, "precondition-required", lambda walk, api: change(api["counter"], walk)),
]  # fmt: skip


def is_problem(answer: Any, status: int) -> dict[str, Any]:
    """The document, once media type, shape and status are as they must be."""
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"] == "application/problem+json"
    body: dict[str, Any] = json.loads(answer.content)
    Draft202012Validator(SHAPE).validate(body)
    assert body["status"] == status
    return body


@pytest.mark.parametrize(("status", "kind", "give"), WAYS)
def test_it_works(house: House, api: dict[str, Api], status: int, kind: str, give: Give) -> None:
    body = is_problem(give(Walk(house, api), api), status)

    assert body["type"] == f"/problems/{kind}"


def test_it_covers_every_status_that_a_door_gives() -> None:
    assert {status for status, _, _ in WAYS} == {400, 401, 403, 404, 405, 406, 409, 412, 415, 422, 428}


def test_it_names_each_occurrence_by_itself(house: House, api: dict[str, Api]) -> None:
    first, second = (api["stranger"].get("customers").json()["instance"] for _ in range(2))

    assert first != second


def test_it_points_at_fields_with_json_pointers(house: House, api: dict[str, Api]) -> None:
    """RFC 6901, section 3: a pointer is empty or begins with a solidus."""
    body = raw(api["counter"], b'{"name": {}, "kind": "ship", "a/b~c": 1}').json()
    lines = [{"item": str(house.item().uid), "contents": "no gas"}]
    given = {"customer": str(house.customer.uid), "promised_on": "2020-02-29", "lines": lines}
    refused = api["counter"].post("drop-offs", given).json()

    pointers = [error["pointer"] for error in (*body["errors"], *refused["errors"])]
    assert sorted(pointers) == ["/a~1b~0c", "/kind", "/lines/0/plan", "/name", "/promised_on"]
    assert all(re.fullmatch(r"(/([^/~]|~[01])*)*", pointer) for pointer in pointers)


def test_it_refuses_a_forged_request_with_a_problem_too(house: House) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(house.people["counter"])

    answer = client.post("/api/v1/customers", CUSTOMER, content_type="application/json", headers=KEY)

    assert is_problem(answer, 403)["type"] == "/problems/no-right"
    nowhere = client.post("/api/v1/drop-offs/x/go-aheads", CUSTOMER, content_type="application/json")
    assert is_problem(nowhere, 404)["status"] == 404


def test_its_own_shape_can_fail() -> None:
    good = {
        "type": "/problems/refused", "title": "t", "status": 409, "detail": "d",
        "instance": "urn:uuid:00000000-0000-0000-0000-000000000000",
    }  # fmt: skip
    validator = Draft202012Validator(SHAPE)

    assert validator.is_valid(good)
    for broken in (
        good | {"status": "409"}, good | {"status": 200}, good | {"title": 1}, good | {"errors": []},
        good | {"type": "about blank"}, good | {"more": 1}, {k: v for k, v in good.items() if k != "detail"},
    ):  # fmt: skip
        assert not validator.is_valid(broken), broken
