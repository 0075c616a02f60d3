"""A8: every unsafe method of every address, asked from another house with somebody's session: 403, and nothing changes."""

import json
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.test import Client
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.urls import resolve

from tests.guards.bodies import Entry
from tests.guards.conftest import stage as stage
from tests.guards.conftest import world as world
from tests.guards.conftest import world_of_the_file as world_of_the_file
from tests.guards.entries import ENTRIES, somebody
from tests.guards.routes import API, address
from tests.guards.world import World
from tests.rows import nothing_changes

# No cookie says anything there: whoever could forge a request knows the secret in the address.
PRIVATE = ("answer/", "porthole/")
UNSAFE = [
    (method, route, entry)
    for route, methods in ENTRIES.items()
    for method, entry in methods.items()
    if method != "GET" and not route.startswith(PRIVATE)
]
FOREIGN = "https://elsewhere.example"


def signed_in(world: World, role: str) -> Client:
    """A browser with the session of a role, which is asked for its token as a real one is."""
    client = Client(enforce_csrf_checks=True)
    for name, value in world.cookies[role].items():
        client.cookies[name] = value
    return client


def forged(world: World, method: str, route: str, entry: Entry) -> Iterator[tuple[str, Any]]:
    """The ways that another house has, and what each was answered."""
    role = somebody(entry)
    path, seen, token = world.path(route, entry, role), str(world.version(entry)), "a" * 64
    plain = {k: v for k, v in world.body(entry.body or {}).items() if not hasattr(v, "read")}
    text = json.dumps(plain)
    form = {k: v if isinstance(v, str) else json.dumps(v) for k, v in plain.items()}
    form |= {"once": str(uuid4()), "seen": seen}
    asked = {"Idempotency-Key": f'"{uuid4()}"', "If-Match": f'"{seen}"', "Origin": FOREIGN}
    ways: dict[str, tuple[Any, str, dict[str, str]]] = {
        "no token": (form, "", {}),
        "JSON": (text, "application/json", asked),
        "JSON called text": (text, "text/plain", asked),
        "another token": (form | {"csrfmiddlewaretoken": token}, "", {"X-CSRFToken": token}),
        "another origin": (form, "", {"Origin": FOREIGN}),
        "no origin": (form, "", {"Origin": "null"}),
        "another method": (form | {"_method": method}, "", {"X-HTTP-Method-Override": method}),
    }
    for name, (data, kind, headers) in ways.items():
        verb = "POST" if name == "another method" and "POST" in ENTRIES[route] else method
        body = data if kind else encode_multipart(BOUNDARY, data)
        client = signed_in(world, role)
        yield (
            f"{verb} /{route}, {name}",
            client.generic(verb, path, body, kind or MULTIPART_CONTENT, headers=headers),
        )


def test_it_works(world: World) -> None:
    """With the token of our own page it is taken, from our own house only."""
    client = signed_in(world, "counter")
    token = str(client.get("/customers/new").context["csrf_token"])
    given = {"kind": "person", "name": "Rowan", "once": "k", "csrfmiddlewaretoken": token}

    assert client.post("/customers/new", given, headers={"Origin": FOREIGN}).status_code == 403
    assert client.post("/customers/new", given).status_code == 302


def test_it_refuses_each_unsafe_method_of_each_address(world: World) -> None:
    found = []
    with nothing_changes():
        for each in UNSAFE:
            found += [(name, answer.status_code) for name, answer in forged(world, *each)]

    assert [(name, status) for name, status in found if status != 403] == []
    assert len(found) == 7 * len(UNSAFE) > 900


def test_it_exempts_no_page() -> None:
    """The API's views are exempt of Django's own check and ask for the token where a session signs in."""
    views = {route: resolve(address(route, uuid4(), "ports/1")).func for route in ENTRIES}

    assert [
        r
        for r, view in views.items()
        if getattr(view, "csrf_exempt", False) and not r.startswith((API, *PRIVATE))
    ] == []
    assert settings.SESSION_COOKIE_SAMESITE == settings.CSRF_COOKIE_SAMESITE == "Lax"
