"""What is stopped before any door: bodies that are too large, a cookie that no database can hold."""

import pytest
from django.test import Client

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


def test_it_refuses_a_body_that_does_not_say_how_large_it_is() -> None:
    answer = Client().post("/api/v1/customers", headers={"Transfer-Encoding": "chunked"})

    assert answer.status_code == 413


def test_it_refuses_a_cookie_with_a_nul() -> None:
    client = Client()
    client.cookies["session"] = "a\0b"

    assert client.get("/sign-in").status_code == 400
