"""Nonsense at every door: a clear 4xx that names the field, never a fault, and nothing changes."""

import gzip
import json
from typing import Any
from uuid import uuid4

import pytest
from rest_framework.test import APIClient

from tests.conftest import Api, House
from tests.rows import nothing_changes, pointers, said
from tests.walk import Walk

Doors = dict[str, tuple[str, dict[str, Any]]]
# Who may use each door, so that what is refused is refused for its words.
WHO = {
    "people": "lead", "authorisations": "lead", "tokens": "lead", "customers": "counter", "models": "lead",
    "plans": "lead", "items": "counter", "instruments": "lead", "calibrations": "lead", "checks": "lead", "parts": "storekeeper",
    "lots": "storekeeper", "use": "storekeeper", "drop-offs": "counter", "go-aheads": "counter",
    "merge customer": "counter", "merge item": "counter", "owner": "counter", "identifiers": "counter",
    "state": "counter", "split": "counter",
    "assign": "lead", "moves": "technician", "steps": "technician", "tray": "technician",
    "tests": "technician", "sign-offs": "technician", "hand-backs": "counter",
}  # fmt: skip
SAID = {"words": "x", "condition": "y"}


@pytest.fixture
def doors(house: House, api: dict[str, Api]) -> Doors:
    """Every address that takes a body, with a body it would take."""
    return kept(house) | done(house, Walk(house, api))


def kept(house: House) -> Doors:
    """What the workshop keeps: people, customers, catalogue, gear, instruments, stock."""
    item, plan = house.item("second_stage", "D-1"), house.plans["second_stage"]
    lot, tool = house.lots["TH-302"], house.instruments["torque wrench"]
    technician = str(house.people["technician"].uid)
    return {
        "people": ("people", {
            "name": "Piet Varga", "email": "piet@aldermouth.example", "password": "an oar across the slip",
            "signing_secret": "pencilled in", "roles": ["counter"],
        }),
        "authorisations": (f"people/{technician}/authorisations", {
            "maker": "Pellmoor", "kind": "", "last_day": "2031-06-30",
        }),
        "tokens": ("tokens", {"label": "logger", "scopes": ["see"], "days": 30}),
        "customers": ("customers", {
            "kind": "person", "name": "Tomas Ferrier", "email": "tomas@ferrier.example",
            "phone": "+441632960417", "reminders": True,
        }),
        "models": ("models", {
            "maker": "Pellmoor", "name": "Brae", "revision": "B", "kind": "first_stage", "design": "piston",
        }),
        "plans": (f"models/{item.model.uid}/plans", {"key": "overhaul", "document": plan.document}),
        "items": ("items", {
            "model": str(item.model.uid), "owner": str(house.customer.uid), "serial": "Q", "owners_mark": "z",
        }),
        "merge customer": (f"customers/{house.customer.uid}/merge", {"into": "K-0001"}),
        "merge item": (f"items/{item.uid}/merge", {"into": item.label}),
        "owner": (f"items/{item.uid}/owner", {"owner": "K-0001"}),
        "identifiers": (f"items/{item.uid}/identifiers", {"kind": "serial", "value": "D-7"}),
        "state": (f"identifiers/{item.identifiers.get().uid}/state", {"state": "disputed"}),
        "split": (f"items/{item.uid}/split", {"identifiers": []}),
        "instruments": ("instruments", {
            "code": "BG-9", "name": "gauge", "kind": "pressure logger", "unit": "bar", "resolution": "0.01",
        }),
        "calibrations": (f"instruments/{tool.uid}/calibrations", {
            "done_on": "2026-01-01", "good_to": "2027-01-01", "certificate": "C-2",
        }),
        "checks": (f"instruments/{tool.uid}/checks", {
            "done_on": "2026-01-01", "against": "MG-1", "deviation": "0.1", "found": "good",
        }),
        "parts": ("parts", {
            "number": "TH-900", "name": "Plug", "unit": "piece", "material": "NBR", "life_months": 84,
            "life_source": "the test's own rule",
        }),
        "lots": (f"parts/{lot.part.uid}/lots", {"number": "L-1", "cured": "2Q26", "quantity": 5}),
        "use": (f"lots/{lot.uid}/movements", {"quantity": 1, "subject": "training"}),
    }  # fmt: skip


def done(house: House, walk: Walk) -> Doors:
    """What is done to a job."""
    item, plan = house.item("second_stage", "D-2"), house.plans["second_stage"]
    lot, tool = house.lots["TH-302"], house.instruments["torque wrench"]
    technician, job = str(house.people["technician"].uid), f"jobs/{walk.job}"
    line = {
        "item": str(item.uid),
        "plan": str(plan.uid),
        "contents": "no gas",
        "words": "x",
        "condition": "y",
    }
    return {
        "drop-offs": ("drop-offs", {
            "customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line],
        }),
        "go-aheads": (f"drop-offs/{walk.drop_off}/go-aheads", {
            "amount": "10.00", "given_by": "Maja", "how": "in person",
        }),
        "assign": (f"{job}/assign", {"technician": technician}),
        "moves": (f"{job}/moves", {"to": "cleared", "reason": "because"}),
        "steps": (f"{job}/steps/ports", {"counted": 5, "torque_n_m": "28", "wrench": str(tool.uid)}),
        "tray": (f"{job}/parts/yoke_ring", {"ending": "renewed", "lot": str(lot.uid)}),
        "tests": (f"{job}/tests/low_supply", {
            "phase": "final", "instrument": str(tool.uid), "reading": "9.4", "unit": "bar",
        }),
        "sign-offs": (f"{job}/sign-offs", {
            "outcome": "failed", "words": "w", "secret": "s", "second": technician, "second_secret": "t",
        }),
        "hand-backs": (f"drop-offs/{walk.drop_off}/hand-backs", {
            "collector": "Maja", "items": [walk.item.label], "acknowledged": True,
        }),
    }  # fmt: skip


def send(api: dict[str, Api], name: str, path: str, body: Any, media: str = "application/json") -> Any:
    """Raw bytes to a door, with a fresh key and a version, as the person who may use it."""
    headers = {"Idempotency-Key": f'"{uuid4()}"', "If-Match": '"1"'}
    client: APIClient = api[WHO[name]].client
    return client.generic("POST", f"/api/v1/{path}", body, content_type=media, headers=headers)


def is_problem(answer: Any) -> None:
    """A 4xx whose body is a problem document that can be read."""
    assert 400 <= answer.status_code < 500, answer.content
    assert answer["Content-Type"] == "application/problem+json"
    assert json.loads(answer.content)["status"] == answer.status_code


def test_it_works(doors: Doors, api: dict[str, Api]) -> None:
    """Each body is one that its door takes or refuses for the state of things, so what follows breaks the words only."""
    for name, (path, data) in doors.items():
        answer = send(api, name, path, json.dumps(data).encode())
        assert answer.status_code in (200, 201, 409, 412), (name, answer.content)


def test_it_covers_every_door(doors: Doors) -> None:
    assert set(doors) == set(WHO)


def test_it_names_a_field_that_is_not_known(doors: Doors, api: dict[str, Api]) -> None:
    with nothing_changes():
        for name, (path, data) in doors.items():
            answer = send(api, name, path, json.dumps(data | {"colour": 1, "size": 2}).encode())
            assert pointers(answer) == ["/colour", "/size"], name


JUNK: list[Any] = [
    None, True, 1e400, -1e400, 1e308, -1, 2**63, 10**40, "", " ", "\0", "a\0b", "\ud800", "\udfffx", "x" * 300_000,
    [], {}, [[]], [None], [{}], {"a": 1}, ["\ud800"], {"\ud800": "\0"}, "é" * 5000, "{{7*7}}", "../../etc/passwd",
    "0000-00-00", "9999999-01-01", "2026-02-30", str(uuid4()), "not-a-uuid", "zz" * 16, "1e400",
]  # fmt: skip


@pytest.mark.parametrize("name", sorted(WHO))
def test_it_never_faults_on_junk_in_any_field(doors: Doors, api: dict[str, Api], name: str) -> None:
    path, data = doors[name]
    for field in data:
        for junk in JUNK:
            answer = send(api, name, path, json.dumps(data | {field: junk}).encode())
            assert answer.status_code < 500, (name, field, junk, answer.content[:500])
            assert answer.status_code < 300 or json.loads(answer.content)["status"] == answer.status_code


@pytest.mark.parametrize("name", sorted(WHO))
def test_it_names_every_field_that_is_missing_or_of_a_wrong_type(
    doors: Doors, api: dict[str, Api], name: str
) -> None:
    path, data = doors[name]

    with nothing_changes():
        answer = send(api, name, path, json.dumps(dict.fromkeys(data, {"a": ["b"]})).encode())

    named = {pointer.split("/")[1] for pointer in pointers(answer)}
    assert named == set(data)


BODIES = {
    "null": b"null", "number": b"7", "text": b'"x"', "list": b"[]", "true": b"true",
    "cut": b'{"name": ', "not UTF-8": b'{"name": "\xff\xfe"}', "words": b"hello", "nan": b'{"name": NaN}',
    "two": b"{}{}", "byte order mark": b"\xef\xbb\xbf{}", "a surrogate as a key": b'{"\\ud800": 1}',
    "deep lists": b"[" * 100_000, "deep objects": b'{"a":' * 100_000,
    "deep and closed": b'{"name":' + b"[" * 900 + b"]" * 900 + b"}",
    "long number": b'{"name": ' + b"9" * 10_000 + b"}",
    "beyond a float": b'{"name": 1e400}', "far below": b'{"name": -1e400}', "infinite": b'{"name": -Infinity}',
    "a name twice": b'{"name": "a", "name": "b"}', "a name twice, within": b'{"name": [{"\\u0061": 1, "a": 2}]}',
    "packed": gzip.compress(b'{"name": "a"}'),
    "a long list": b'{"name": [' + b"1," * 600 + b"1]}",
    "much in many lists": b'{"name": [' + (b"[" + b"1," * 400 + b"1],") * 100 + b"1]}",
}  # fmt: skip


@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES.keys())
def test_it_refuses_a_body_that_is_no_object_or_no_json(
    doors: Doors, api: dict[str, Api], body: bytes
) -> None:
    with nothing_changes():
        for name, (path, _) in doors.items():
            answer = send(api, name, path, body)
            assert answer.status_code == 400, name
            is_problem(answer)
            assert answer.json()["errors"], name


def test_it_takes_an_empty_body_for_an_empty_object(doors: Doors, api: dict[str, Api]) -> None:
    for name, (path, _) in doors.items():
        empty, braces = send(api, name, path, b""), send(api, name, path, b"{}")
        assert empty.status_code == braces.status_code, name
        if empty.status_code == 400:
            assert pointers(empty) == pointers(braces)


@pytest.mark.parametrize(
    "media", ["text/plain", "application/x-www-form-urlencoded", "application/xml", "", "x"]
)
def test_it_refuses_another_media_type(doors: Doors, api: dict[str, Api], media: str) -> None:
    with nothing_changes():
        for name, (path, data) in doors.items():
            answer = send(api, name, path, json.dumps(data).encode(), media)
            assert answer.status_code == 415, name
            is_problem(answer)


@pytest.mark.parametrize(
    "uid", ["x", "00000000-0000-0000-0000-000000000000", "%00", "1", "..", "%F0%9F%A4%BF"]
)
def test_it_finds_nothing_under_a_bad_or_unknown_uid(
    house: House, api: dict[str, Api], pages: dict[str, Any], uid: str
) -> None:
    paths = ["customers", "items", "jobs", "drop-offs"]

    with nothing_changes():
        found = [api["lead"].client.get(f"/api/v1/{path}/{uid}") for path in paths]
        found += [send(api, "moves", f"jobs/{uid}/moves", b'{"to": "cleared"}')]
        found += [send(api, "lots", f"parts/{uid}/lots", b'{"number":"1","cured":"2Q26","quantity":1}')]
        shown = [pages["lead"].get(f"/{path}/{uid}") for path in [*paths, "records", "attempts"]]

    assert {answer.status_code for answer in found} == {404}
    for answer in found:
        is_problem(answer)
    assert {answer.status_code for answer in shown} == {404}


@pytest.mark.parametrize(
    "query",
    [
        "after=x", "after=cD1hYmM%3D", "after=cD0%3D", "after=cD0tMQ%3D%3D", "after=cD0lMDA%3D",
        "after=cD05OTk5OTk5OTk5OTk5OTk5OTk5OTk5OQ%3D%3D", "after=bz0tMQ%3D%3D", "after=bz05OTk5OTk5OTk5",
        "limit=-1", "limit=0", "limit=x", "limit=999999999999", "name=%00", "name=%FF", "after=%00",
    ],
)  # fmt: skip
def test_it_never_faults_on_a_query(house: House, api: dict[str, Api], query: str) -> None:
    for path in ("customers", "jobs", "people"):
        answer = api["lead"].get(f"{path}?{query}")
        assert answer.status_code in (200, 400, 404), answer.content
        if answer.status_code == 200:
            assert len(answer.json()["results"]) <= 200


@pytest.mark.parametrize(
    ("path", "unknown", "known"),
    [
        ("jobs?leg=testing", [], ""),
        ("jobs?leg=nowhere", ["/leg"], ""),
        ("jobs?Leg=testing&after=&x~y=1", ["/Leg", "/x~0y"], "known: leg, after, limit."),
        ("queue?of=me&limit=3", ["/limit"], "known: of, leg, technician."),
        ("due-calendar?x=1", ["/x"], "No parameter is known here."),
    ],
)
def test_it_refuses_what_a_query_may_not_ask(
    house: House, api: dict[str, Api], path: str, unknown: list[str], known: str
) -> None:
    answer = api["lead"].get(path)
    assert answer.status_code == (400 if unknown else 200)
    if unknown:
        is_problem(answer)
        assert pointers(answer) == unknown
        assert known in answer.json()["errors"][0]["detail"]


@pytest.mark.parametrize("once", ["\0", "x\0y", "é" * 200, "{{1}}", " "])
def test_it_never_faults_on_the_key_or_version_of_a_page(
    house: House, pages: dict[str, Any], once: str
) -> None:
    for seen in ("", "x", "-1", "9" * 40, "²", "1\0"):
        path = f"/customers/{house.customer.uid}/change"
        page = pages["counter"].post(path, {"kind": "person", "name": "M", "once": once, "seen": seen})
        assert page.status_code == 412


@pytest.mark.parametrize("name", ["", " ", "\0", "x" * 161, "a\0b"])
def test_it_says_on_the_page_what_is_wrong_with_a_field(
    house: House, pages: dict[str, Any], name: str
) -> None:
    with nothing_changes():
        page = pages["counter"].post("/customers/new", {"kind": "person", "name": name, "once": "k"})

    assert 'class="field-error"' in said(page, 400)


def test_it_shows_what_was_typed_as_text_and_never_as_markup(house: House, pages: dict[str, Any]) -> None:
    typed = {"kind": "person", "name": "<script>alert(1)</script>", "phone": "x", "once": "k"}

    page = pages["counter"].post("/customers/new", typed)

    assert page.status_code == 400
    assert b"<script>alert(1)" not in page.content
    assert b"&lt;script&gt;alert(1)" in page.content
