"""The workshop's keys: made by the first record, changed by the lead, missed after a restore."""

from pathlib import Path

import pytest
from django.conf import settings
from django.db import transaction
from django.test import Client

from shop.journal.reads import faults
from shop.signing.actions import change_key, signed
from shop.signing.models import SigningKey
from shop.signing.reads import private_file
from shop.signing.rules import fits
from shop.staff.models import Person
from tests.conftest import Api, House
from tests.rows import said, send
from tests.threads import real_database, together  # noqa: F401 - a fixture
from tests.walk import ok


def sign(by: Person, text: str = "{}") -> tuple[SigningKey, str]:
    with transaction.atomic():
        return signed(by=by, text=text)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    by = house.people["technician"]

    key, signature = sign(by, '{"a":1}')
    again, _ = sign(by)

    assert again == key
    assert fits(key.public, '{"a":1}', signature)
    assert private_file(key.key).stat().st_mode & 0o777 == 0o600
    listed = ok(api["counter"].get("signing-keys"))
    assert [(row["key"], row["public"], row["retired_at"]) for row in listed["keys"]] == [
        (key.key, key.public, None)
    ]
    assert list(faults()) == []


def test_it_is_changed_by_the_lead_alone(house: House, api: dict[str, Api]) -> None:
    first, signature = sign(house.people["technician"])

    assert api["inspector"].post("signing-keys", {"reason": "It may be known."}).status_code == 403
    made = ok(api["lead"].post("signing-keys", {"reason": "It may be known."}), 201)

    first.refresh_from_db()
    second, _ = sign(house.people["technician"])
    assert (second.key, second.number) == (made["key"], 2)
    assert (first.present, second.present) == (False, True)
    assert fits(first.public, "{}", signature)  # what it signed stays signed


@pytest.mark.parametrize("content", [None, b"", b"x" * 32])
def test_it_makes_another_where_the_private_half_is_not_here(house: House, content: bytes | None) -> None:
    by = house.people["technician"]
    first, _ = sign(by)
    path: Path = private_file(first.key)
    path.unlink()
    if content is not None:
        path.write_bytes(content)

    second, signature = sign(by)

    assert second.number == first.number + 1
    assert fits(second.public, "{}", signature)
    assert list(SigningKey.objects.filter(present=True)) == [second]


@pytest.mark.usefixtures("real_database")
def test_it_makes_one_key_of_several_people_at_once(people: dict[str, Person]) -> None:
    by = people["technician"]

    found = together(4, lambda n: sign(by, f"[{n}]"))

    (key,) = SigningKey.objects.all()
    assert [fits(key.public, f"[{n}]", signature) for n, (_, signature) in enumerate(found)] == [True] * 4


def test_its_page_says_what_to_do_and_what_is_missing(house: House, pages: dict[str, Client]) -> None:
    page = pages["lead"].get("/office/signing-keys")
    assert "The first record that is signed off makes one" in said(page, 200)

    key, _ = sign(house.people["technician"])
    assert key.public in said(pages["lead"].get("/office/signing-keys"), 200)
    private_file(key.key).unlink()
    assert "The private half of the present key is not here." in said(
        pages["lead"].get("/office/signing-keys")
    )

    send(pages["lead"], "/office/signing-keys/change", {"reason": "A new server."})
    assert SigningKey.objects.get(present=True).number == 2


def test_its_private_half_leaves_no_trace(house: House, pages: dict[str, Client]) -> None:
    key, _ = sign(house.people["technician"])
    seed = private_file(key.key).read_bytes()

    shown = [pages["lead"].get("/office/signing-keys").content, Client().get("/check/keys.json").content]

    assert all(seed not in each and seed.hex().encode() not in each for each in shown)
    assert key.public.encode() in shown[1]
    assert settings.SIGNING_KEYS not in (settings.FILES, settings.LETTERS)


def test_it_is_changed_for_a_reason(house: House) -> None:
    """The first key may also be made by hand, before there is a record."""
    row = change_key(by=house.people["lead"], reason="We begin.")

    assert (row.number, row.present) == (1, True)
