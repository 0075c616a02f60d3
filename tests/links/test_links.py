"""Private links: what is kept of them, what opens one, and how they end."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client

from shop.customers.actions import add_customer, merge_customers
from shop.customers.models import Customer
from shop.journal.models import Entry
from shop.links.actions import make_links, revoke_links
from shop.links.models import Link
from shop.links.reads import link_of
from shop.links.rules import LinkFor, Wanted
from shop.workshop.reads import at
from tests.conftest import Api, House
from tests.rows import codes, said, send
from tests.walk import ok


def made(customer: Customer, purpose: LinkFor = LinkFor.ANSWER) -> str:
    """The secret of a new link."""
    with transaction.atomic():
        (address,) = make_links(wanted=[Wanted(customer, purpose, uuid4())])
    start, _, secret = address.rpartition("/")
    assert start == f"http://127.0.0.1:8710/{purpose}"
    return secret


def test_it_works(house: House) -> None:
    secret = made(house.customer)
    link = link_of(secret)

    assert link is not None
    assert link.customer == house.customer
    assert len(secret) == 43, "32 bytes in URL-safe base64 without padding (RFC 4648, section 5)"
    assert secret not in repr(Link.objects.values_list())


def test_it_is_another_each_time(house: House) -> None:
    assert made(house.customer) != made(house.customer)


@pytest.mark.parametrize(
    ("purpose", "days"), [(LinkFor.ANSWER, 180), (LinkFor.PORTHOLE, 90)]
)  # 90 days: trust.md P4
def test_it_ends(house: House, purpose: LinkFor, days: int) -> None:
    secret = made(house.customer, purpose)
    made_at = Link.objects.get().made_at

    with at(made_at + timedelta(days=days) - timedelta(seconds=1)):
        assert link_of(secret)
    with at(made_at + timedelta(days=days)):
        assert link_of(secret) is None


def test_it_is_taken_back_at_both_doors(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    path, secret = f"customers/{house.customer.uid}/links", made(house.customer)
    assert codes(api["technician"].post(f"{path}/revoke"), 403) == []
    assert ok(api["counter"].post(f"{path}/revoke")) == {"ended": 1}
    assert link_of(secret) is None
    assert codes(api["counter"].post(f"{path}/revoke")) == ["no-links"]

    secret, page = made(house.customer), f"/customers/{house.customer.uid}"
    assert "1 private link in letters" in said(pages["counter"].get(page), 200)
    assert send(pages["counter"], f"/{path}/revoke", {}).status_code == 302
    assert link_of(secret) is None
    assert "private link" not in said(pages["counter"].get(page), 200)
    assert Entry.objects.filter(verb="private links ended").count() == 2


def test_it_ends_with_the_address(house: House, api: dict[str, Api]) -> None:
    """Whoever reads the old mailbox opens nothing any more; another change leaves links open."""
    path, secret = f"customers/{house.customer.uid}", made(house.customer)
    told = {"kind": "person", "name": "Maja Lind", "email": house.customer.email}
    ok(api["counter"].put(path, told, seen=1))
    assert link_of(secret)
    ok(api["counter"].put(path, told | {"email": "maja@elsewhere.example"}, seen=2))

    assert link_of(secret) is None
    assert Entry.objects.filter(verb="private links ended").count() == 1


def test_it_is_listed_without_its_address(house: House, api: dict[str, Api]) -> None:
    secret = made(house.customer)
    answer = api["technician"].get(f"customers/{house.customer.uid}/links")

    assert [row["purpose"] for row in ok(answer)["results"]] == ["answer"]
    assert secret not in answer.content.decode()


def test_it_follows_a_merged_customer(house: House) -> None:
    other = add_customer(
        by=house.people["counter"], kind="person", name="M. Lindqvist", email="", phone="", reminders=False
    )
    secret = made(other)
    merge_customers(by=house.people["counter"], keep=house.customer, lose=other, seen=1)

    link = link_of(secret)
    assert link is not None
    assert link.customer.kept == house.customer
    assert revoke_links(by=house.people["counter"], customer=house.customer) == 1
    assert link_of(secret) is None
