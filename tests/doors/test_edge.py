"""What is stopped before any door: bodies that are too large, a cookie that no database can hold."""

import zlib

import pytest
from django.core.signals import request_finished, request_started
from django.db import OperationalError, close_old_connections
from django.test import Client, RequestFactory

from shop.wsgi import application, readable

pytestmark = pytest.mark.django_db


def test_it_works() -> None:
    assert Client().get("/sign-in").status_code == 200


@pytest.mark.parametrize(
    ("kind", "size"), [("application/json", 2_500_001), ("multipart/form-data; boundary=x", 11_000_001)]
)
def test_it_refuses_a_body_that_is_too_large(kind: str, size: int) -> None:
    answer = Client().post("/api/v1/customers", b"", content_type=kind, CONTENT_LENGTH=str(size))

    assert answer.status_code == 413
    assert answer.json()["status"] == 413


def test_it_says_wait_where_the_database_does_not_answer_a_page(monkeypatch: pytest.MonkeyPatch) -> None:
    def away() -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr("shop.web.pages.workshop", away)

    answer = Client(raise_request_exception=False).get("/sign-in")

    assert answer.status_code == 503
    assert "Load this page again in a minute" in answer.content.decode()
    assert "locked" not in answer.content.decode()


def test_it_refuses_a_body_that_does_not_say_how_large_it_is() -> None:
    answer = Client().post("/api/v1/customers", headers={"Transfer-Encoding": "chunked"})

    assert answer.status_code == 413


def asked(path: str, media: str, body: bytes) -> int:
    """The status of a POST to the application itself; the tests' client makes its requests in another way."""
    statuses: list[str] = []
    environ = RequestFactory().generic("POST", path, body).environ | {"CONTENT_TYPE": media}
    signals = (request_started, request_finished)
    for each in signals:  # they would close the connection in which this test stands
        each.disconnect(close_old_connections)
    try:
        application(environ, lambda status, headers, *more: statuses.append(status))
    finally:
        for each in signals:
            each.connect(close_old_connections)
    return int(statuses[0].split()[0])


@pytest.mark.parametrize(
    "told",
    [
        "charset=zlib", "charset=utf-16", "charset=latin-1", "charset=idna", "charset=no-such", "charset=", "charset=\xff",
        "x*=no-such''%41",
    ],
)  # fmt: skip
def test_it_reads_nothing_in_another_charset(told: str) -> None:
    """Django would decode the query in it, and its library unpack a body that is packed with zlib."""
    body = zlib.compress(b'{"kind": "person", "name": "Ada Merrow"}')

    assert asked("/api/v1/customers?limit=1", f"application/json; {told}", body) == 401
    assert asked("/sign-in?next=/jobs", f"text/html; {told}", b"") == 403  # no form that came from our page
    assert readable(f"application/json; {told}") == "application/octet-stream"


@pytest.mark.parametrize(
    "told", ["", "; charset=utf-8", "; charset=UTF-8", '; charset="utf8"', "; boundary=x"]
)
def test_it_leaves_other_content_types_as_they_are(told: str) -> None:
    assert readable(f"application/json{told}") == f"application/json{told}"


def test_it_refuses_a_cookie_with_a_nul() -> None:
    answer = Client().get("/sign-in", headers={"Cookie": "session=a\0b"})

    assert answer.status_code == 400
