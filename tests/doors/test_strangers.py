"""Somebody who is not signed in: a 401 at the API, the sign-in page elsewhere, and nothing changes."""

from typing import Any

from django.test import Client
from django.urls import get_resolver

from shop.journal.models import Entry
from tests.conftest import Api, House
from tests.guards.routes import address
from tests.rows import codes, nothing_changes
from tests.walk import Walk

# The sign-in page, the icon, what supervisors ask, the document that describes the API, and the check of
# a record with the keys for it: none of them says anything of anybody.
OPEN = {"sign-in", "favicon.ico", "sign-out", "api/v1/schema"} | {
    "sign-in/code",
    "forgotten-password",
    "forgotten-password/written",
    "choose-password",
    "health/alive",
    "health/ready",
    "check",
    "check/keys.json",
    "api/v1/bounces",  # who signs what is posted there needs no sign-in: tests/outbox
}
# The calendar has a secret in its address, too.
OPEN |= {"calendar/<slug:secret>.ics"}
# What a private link opens; no row stands in the address.
OPEN |= {
    f"answer/<slug:secret>{more}"
    for more in ("", "/elsewhere", "/gone", "/address", "/book", "/move", "/cancel", "/fewer", "/one-click")
}
OPEN |= {
    f"porthole/<slug:secret>{more}"
    for more in (
        "",
        "/ask",
        "/go-ahead",
        "/more/<int:n>",
        "/ticket.pdf",
        "/photographs/<int:n>",
        "/records/<int:n>.pdf",
    )
}


def addresses(uid: str) -> list[str]:
    """Every address of the URL table with a uid and a key filled in."""
    found = []

    def walk(resolver: Any, before: str) -> None:
        for each in resolver.url_patterns:
            route = before + str(each.pattern)
            if hasattr(each, "url_patterns"):
                walk(each, route)
            elif "^" not in route:
                found.append(route)

    walk(get_resolver(), "")
    return [
        address(route, uid, "1" if "<int:" in route else "ports")[1:] for route in found if route not in OPEN
    ]


def test_it_works(house: House, api: dict[str, Api]) -> None:
    job = Walk(house, api).job
    client, found = Client(), addresses(job)
    assert len(found) > 60

    with nothing_changes():
        for route in found:
            for method in ("GET", "POST", "PUT", "PATCH", "DELETE"):
                answer: Any = client.generic(method, f"/{route}", b"{}", "application/json")
                if route.startswith("api/"):
                    assert codes(answer, 401) == [], (method, route)
                else:
                    assert answer.status_code == 302, (method, route)
                    assert answer["Location"].startswith("/sign-in?next="), (method, route)


def test_it_writes_who_did_each_thing(house: House, api: dict[str, Api]) -> None:
    Walk(house, api).to("handed_back")
    known = {str(person.uid) for person in house.people.values()}

    assert set(Entry.objects.values_list("by", flat=True)) <= known
