"""Every answer of every address, errors included: the headers, the cookies, nothing secret, and reading changes nothing."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from django.http import HttpResponse
from django.test import Client
from django.urls import include, path

from shop.instruments.rules import CERTIFICATE
from shop.urls import handler400, handler403, handler404, handler500
from tests.conftest import PASSWORD, SECRET
from tests.guards.bodies import Entry
from tests.guards.entries import ENTRIES
from tests.guards.routes import API
from tests.guards.world import World
from tests.rows import nothing_changes

POLICY = {
    "default-src": "'none'",
    "style-src": "'self'",
    "script-src": "'self'",
    "img-src": "'self'",
    "font-src": "'self'",
    "connect-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "object-src": "'none'",
    "frame-ancestors": "'none'",
}
FIXED = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
}
# What never stands in an answer: traces, and the beginnings of hashes. "exc_type" is of Django's own fault page.
TELLTALE = (
    "Traceback (most",
    "site-packages",
    "exc_type",
    "md5$",
    "argon2$",
    "SECRET_KEY",
    str(settings.ROOT),
)
TAKEN = (
    CERTIFICATE,
    "signed-record-",
    "signing-keys.json",
    "notice-",
    '.csv"',
)  # files that a browser does not open here
SECRETS = (settings.SECRET_KEY, PASSWORD, SECRET)


def broken(request: object) -> HttpResponse:
    """A view with a fault of its own."""
    raise RuntimeError(f"the key is {settings.SECRET_KEY}")


urlpatterns = [path("broken", broken), path("api/v1/broken", broken), path("", include("shop.urls"))]
__all__ = ["handler400", "handler403", "handler404", "handler500"]


def faults(name: str, answer: Any) -> list[str]:
    """What an answer's headers, cookies and body lack or tell."""
    fixed = FIXED | (
        {"Referrer-Policy": "no-referrer"} if " /answer/" in name or " /porthole/" in name else {}
    )  # the address is a secret
    found = [f"{name}: {key}" for key, value in fixed.items() if answer.headers.get(key) != value]
    directives = [each.split() for each in answer.headers.get("Content-Security-Policy", "").split(";")]
    stored = answer.headers["Content-Type"] == "image/jpeg" or any(
        each in str(answer.headers) for each in TAKEN
    )
    expected = POLICY | ({"sandbox": ""} if stored else {})
    if {each[0]: " ".join(each[1:]) for each in directives if each} != expected:
        found.append(f"{name}: Content-Security-Policy")
    kept = "no-store" in answer.headers.get("Cache-Control", "")
    found += [] if kept != name.startswith("GET /static/") else [f"{name}: Cache-Control"]
    for cookie in answer.cookies.values():
        if cookie.value and not (cookie["httponly"] and cookie["samesite"] in ("Lax", "Strict")):
            found.append(f"{name}: cookie {cookie.key}")
    body = b"".join(answer) if answer.streaming else answer.content
    said = [each for each in (*TELLTALE, *SECRETS) if each.encode() in body]
    return found + [f"{name}: its body holds {each[:12]!r}" for each in said]


def reading(world: World, role: str) -> Iterator[tuple[str, Any]]:
    """A GET and a HEAD of every address that is read, as a role."""
    for route, methods in ENTRIES.items():
        if "GET" in methods:
            where = world.path(route, methods["GET"], role)
            client: Any = world.clients[role] if route.startswith(API) else world.browser(role)
            yield f"GET {where}", client.get(where)
            yield f"HEAD {where}", client.head(where)


def test_it_works(world: World) -> None:
    """The crawl sees what is missing."""
    answer = world.browser("lead").get("/store")
    del answer.headers["Content-Security-Policy"], answer.headers["Cache-Control"]
    answer.content = answer.content + SECRET.encode()

    assert faults("GET /store", answer) == [
        "GET /store: Content-Security-Policy",
        "GET /store: Cache-Control",
        "GET /store: its body holds 'signed with '",
    ]


@pytest.mark.parametrize("role", ["lead", "stranger"])
def test_it_finds_the_headers_on_every_address(world: World, role: str) -> None:
    assert [fault for name, answer in reading(world, role) for fault in faults(name, answer)] == []


@pytest.mark.parametrize("role", ["lead", "token", "stranger"])
def test_it_reads_without_changing_a_row(world: World, role: str) -> None:
    with nothing_changes():
        assert len([answer.status_code for _, answer in reading(world, role)]) > 100


def test_it_finds_the_headers_on_every_error(world: World) -> None:
    browser, api = world.browser("technician"), world.clients["technician"]
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(world.people["technician"])
    signed = f"/drop-offs/{world.rows['signed'].uid}/hand-back"
    scanned = {"collector": "Maja Lindqvist", "items": "E-99999"}
    version = world.version(Entry(row="signed"))
    customer = f"/api/v1/customers/{world.rows['customer'].uid}"
    answers = {
        "400": browser.get("/store", headers={"Host": "elsewhere.example"}),
        "400 form": browser.post("/customers/new", {"name": ""}),
        "400 sign-in": Client().post("/sign-in", {"username": "lead@aldermouth.example", "password": "no"}),
        "403": browser.get("/office/letters"),
        "403 forged": strict.post("/tokens", {}),
        "404": browser.get("/nothing-here"),
        "405": browser.delete("/store"),
        "409": world.browser("counter").post(signed, scanned | {"seen": version}),
        "412": world.browser("counter").post(signed, scanned),
        "400 API": api.post("/api/v1/tokens", {}, format="json"),
        "401 API": Client().get("/api/v1/jobs"),
        "403 API": api.get("/api/v1/letters"),
        "404 API": api.get("/api/v1/nothing-here"),
        "405 API": api.delete("/api/v1/jobs"),
        "406 API": api.get("/api/v1/jobs", headers={"Accept": "text/csv"}),
        "415 API": api.post("/api/v1/tokens", "a,b", content_type="text/csv"),
        "428 API": world.clients["counter"].put(customer, {"kind": "person", "name": "Maja"}, format="json"),
    }

    assert {name: answer.status_code for name, answer in answers.items()} == {
        name: int(name.split()[0]) for name in answers
    }
    assert [fault for name, answer in answers.items() for fault in faults(name, answer)] == []


@pytest.mark.urls(__name__)
@pytest.mark.parametrize("where", ["/broken", "/api/v1/broken"])
def test_it_tells_nothing_of_a_fault(world: World, where: str) -> None:
    answer = world.browser("lead").get(where)

    assert answer.status_code == 500
    assert faults(where, answer) == []


@pytest.mark.parametrize("where", ["web/ebbwright.css", "web/ebbwright.js", "web/favicon.svg"])
def test_it_lets_static_files_be_kept(where: str) -> None:
    assert faults(f"GET /static/{where}", Client().get(f"/static/{where}")) == []


def test_it_gives_out_guarded_cookies(world: World) -> None:
    browser = Client()
    page = browser.get("/sign-in")
    sent = {"username": "lead@aldermouth.example", "password": PASSWORD}
    entered = browser.post("/sign-in", sent)

    assert set(page.cookies) == {"csrf"}
    assert "session" in entered.cookies
    assert faults("page", page) + faults("entered", entered) == []
