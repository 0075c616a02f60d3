"""Finding a customer at the counter by whatever is at hand."""

from typing import Any

import pytest

from shop.customers.actions import add_customer
from tests.conftest import Api, House
from tests.rows import nothing_changes, said
from tests.walk import Walk


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """Maja Lindqvist's first stage is here; Tomas Ferrier has brought nothing yet."""
    add_customer(
        by=house.people["counter"], kind="person", name="Tomas Ferrier", email="tomas@ferrier.example",
        phone="+441632960533", reminders=False,
    )  # fmt: skip
    return Walk(house, api)


def found(pages: dict[str, Any], asked: str) -> list[str]:
    """The names that the counter finds."""
    page = pages["counter"].get("/counter", {"find": asked})
    assert page.status_code == 200
    return [customer.name for customer in page.context["found"]]


@pytest.mark.parametrize(
    "asked",
    [
        "lindq", "MAJA", "maja@lindqvist", "K-0001", "k-1", "K1", "C-0001", "c-1", "C-0001-1", "E-00001", "e-1",
        "1", "01632 960417", "01632960417", "+44 1632 960417", "960417", "S-first_stage", "s-FIRST_stage",
    ],
)  # fmt: skip
def test_it_works(walk: Walk, pages: dict[str, Any], asked: str) -> None:
    with nothing_changes():
        assert found(pages, asked) == ["Maja Lindqvist"]


@pytest.mark.parametrize("asked", ["01632 960533", "K-0002"])
def test_it_finds_the_other_customer_by_theirs(walk: Walk, pages: dict[str, Any], asked: str) -> None:
    assert found(pages, asked) == ["Tomas Ferrier"]


@pytest.mark.parametrize(
    "asked", ["C-0002", "E-00002", "K-0003", "2", "K-", "C-x", "01632 960999", "0", "\0", "9" * 90, "²", "%"]
)
def test_it_finds_nobody_by_what_is_nobodys(walk: Walk, pages: dict[str, Any], asked: str) -> None:
    assert found(pages, asked) == []


def test_it_finds_both_by_what_they_share(walk: Walk, pages: dict[str, Any]) -> None:
    assert found(pages, "01632 960") == ["Maja Lindqvist", "Tomas Ferrier"]


def test_it_says_that_it_found_nobody(walk: Walk, pages: dict[str, Any]) -> None:
    page = pages["counter"].get("/counter", {"find": "C-0999"})

    assert "0 customers for “C-0999”" in said(page, 200)
    assert "Nobody found." in said(page, 200)
