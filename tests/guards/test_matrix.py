"""The permission matrix: every method of every address, as every role; made from the URL table and the table of rights."""

from typing import Any

import pytest
from django.db import transaction
from rest_framework.test import APIClient

from shop.staff.actions import make_token
from shop.staff.rules import Can
from tests.guards.bodies import Entry
from tests.guards.entries import ENTRIES, HELD, may, somebody
from tests.guards.routes import API, VERBS, routes
from tests.guards.world import World

# Somebody who is not signed in, then everybody who may something or nothing.
ROLES = ["stranger", *HELD]
# Where everybody is led to the sign-in page: after leaving, after choosing a password, with no sign-in half done.
TO_SIGN_IN = {"sign-out", "choose-password", "sign-in/code"}


def cells() -> list[tuple[str, str, str, Entry]]:
    """Every (role, method, route, entry)."""
    return [
        (role, method, route, entry)
        for route, methods in ENTRIES.items()
        for method, entry in methods.items()
        for role in ROLES
        if role != "token" or route.startswith(API)
    ]


def fault(role: str, method: str, route: str, entry: Entry, answer: Any) -> str:
    """What is wrong with the answer in one cell, or nothing."""
    status, to = answer.status_code, answer.headers.get("Location", "")
    if may(role, entry):
        good = {200, 302} if method == "GET" else {200, 201, 302, 409, 412}
        wrong = status not in good or (to.startswith("/sign-in") and route not in TO_SIGN_IN)
    elif role == "stranger":
        wrong = status != 401 if route.startswith(API) else status != 302 or not to.startswith("/sign-in?")
    else:
        wrong = status != 403
    return f"{role} {method} /{route}: {status}" if wrong else ""


def tried(world: World, role: str, method: str, route: str, entry: Entry) -> str:
    """One cell, tried and taken back."""
    with transaction.atomic():
        answer = world.send(role, method, route, entry)
        transaction.set_rollback(True)
    return fault(role, method, route, entry, answer)


def test_it_works(world: World) -> None:
    entry = ENTRIES["api/v1/people"]["POST"]

    assert world.send("lead", "POST", "api/v1/people", entry).status_code == 201
    assert tried(world, "counter", "POST", "api/v1/people", Entry(Can.SEE, body=entry.body)) != ""


def test_it_lists_every_method_of_every_address() -> None:
    listed = {(route, method) for route, methods in ENTRIES.items() for method in methods}
    there = {(route, method) for route, methods in routes().items() for method in methods}

    assert sorted(listed ^ there) == []


def test_it_holds_in_every_cell(world: World) -> None:
    found = [bad for cell in cells() if (bad := tried(world, *cell))]
    pages = sum(len(methods) for route, methods in routes().items() if not route.startswith(API))
    doors = sum(len(methods) for route, methods in routes().items() if route.startswith(API))

    assert found == []
    assert len(cells()) == 7 * pages + 8 * doors > 800  # pages know no tokens


def test_it_is_let_through_somewhere(world: World) -> None:
    """A valid request of each entry succeeds for at least one role: no cell passes by being refused."""
    found = []
    for route, methods in ENTRIES.items():
        for method, entry in methods.items():
            role = somebody(entry)
            with transaction.atomic():
                answer = world.send(role, method, route, entry)
                transaction.set_rollback(True)
            if answer.status_code >= 400:
                found.append(f"{role} {method} /{route}: {answer.status_code} {answer.content[:300]!r}")

    assert found == []


@pytest.mark.parametrize("start", ["api/v1/", ""])
def test_it_refuses_unknown_methods(world: World, start: str) -> None:
    found = []
    for route, methods in ENTRIES.items():
        if route.startswith(API) != bool(start):
            continue
        entry = next(iter(methods.values()))
        role = "stranger" if entry.public else "lead"
        for method in {*VERBS} - set(methods):
            client: Any = world.clients[role] if start else world.browser(role)
            answer = client.generic(method, world.path(route, entry, role))
            found += [f"{method} /{route}: {answer.status_code}"] if answer.status_code != 405 else []

    assert found == []


def test_it_lets_no_token_make_a_wider_one(world: World) -> None:
    _, secret = make_token(by=world.people["token"], label="own", scopes=[Can.KEEP_OWN_TOKENS], days=1)
    client = APIClient(headers={"Authorization": f"Token {secret}"})

    answer = client.post(
        "/api/v1/tokens", {"label": "wide", "scopes": ["sign off"], "days": 1}, format="json"
    )

    assert answer.status_code == 409
    assert [error["code"] for error in answer.json()["errors"]] == ["beyond-token"]
