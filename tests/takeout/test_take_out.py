"""Everything in one archive, and read back into an empty workshop to the same counts and hashes."""

import io
import json
import zipfile
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import Client, TransactionTestCase
from django.test.client import MULTIPART_CONTENT

from jobs.takeout.reads import tables
from jobs.takeout.rules import LEFT_OUT, READ_BACK
from shop.clocks.actions import tally
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.gear.actions import merge_owners
from shop.gear.models import Item
from shop.intervals.actions import propose
from shop.invitations.actions import invite
from shop.post.actions import write_letter
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.search.models import Findable
from shop.sets.actions import make_set
from shop.staff.actions import make_token
from shop.staff.models import Person
from tests.conftest import House, housed, staffed
from tests.guards.clock_entries import RULE
from tests.rows import nothing_changes

NASTY = [
    "=1+1",
    "+44",
    "-1",
    "@x",
    "\t=1",
    "\r1",
    "'=1",
    "'t Hooft",
    '"=1"',
    "a\r\nb",
    "נועה",
    "O'Neill",
    " =1",
    "＝1",
]


def filled(house: House) -> None:
    """Customers with names that are hard to carry, one merged away, an item, a set, clocks, a rule, a count."""
    by = house.people["counter"]
    given: Any = {"email": "", "phone": "", "reminders": False}
    rows = [add_customer(by=by, kind="person", name=name, **given) for name in NASTY]
    merge_owners(by=by, keep=rows[0], lose=rows[1], seen=1)
    items = [house.item(serial="=S-1"), house.item(serial="")]
    make_set(by=by, owner=house.customer, name="=her set", items=items[:1])
    propose(by=house.people["lead"], model=items[0].model, **RULE)
    tally(by=by, item=items[0], unit="dives", total=12, day=date(2026, 1, 1))


def manifest(path: Path) -> dict[str, Any]:
    with zipfile.ZipFile(path) as archive:
        found: dict[str, Any] = json.loads(archive.read("manifest.json"))
    return found


def flush() -> None:
    """An empty workshop with its people."""
    TransactionTestCase._fixture_teardown(TransactionTestCase())  # type: ignore[attr-defined]  # the helper that lifts the triggers
    staffed()


@pytest.mark.django_db(transaction=True)
def test_it_works(tmp_path: Path) -> None:
    filled(housed(staffed()))
    call_command("bring_in", _services(tmp_path), stdout=io.StringIO())
    call_command("take_out", tmp_path / "a.zip", stdout=io.StringIO())
    names, uids = (
        list(Customer.objects.order_by("pk").values_list("name", flat=True)),
        set(Item.objects.values_list("uid", flat=True)),
    )
    found = list(
        Findable.objects.filter(kind__in=["customer", "item"])
        .order_by("subject")
        .values_list("subject", "words")
    )
    flush()
    out = io.StringIO()

    call_command("bring_in", tmp_path / "a.zip", stdout=out)
    call_command("take_out", tmp_path / "b.zip", stdout=io.StringIO())

    first, second = manifest(tmp_path / "a.zip")["tables"], manifest(tmp_path / "b.zip")["tables"]
    assert {label: first[label] for label in READ_BACK} == {label: second[label] for label in READ_BACK}
    assert [first[label]["rows"] > 0 for label in READ_BACK if label != "clocks.TakenBack"] == [True] * 11
    assert list(Customer.objects.order_by("pk").values_list("name", flat=True)) == names
    assert set(Item.objects.values_list("uid", flat=True)) == uids
    kept = (
        Findable.objects.filter(kind__in=["customer", "item"])
        .order_by("subject")
        .values_list("subject", "words")
    )
    assert list(kept) == found
    assert "customers.Customer: 15 rows read back" in out.getvalue()
    last = Customer.objects.order_by("pk").values_list("pk", flat=True)[14]
    lead = Person.objects.get(roles__role="lead")
    fresh = add_customer(by=lead, kind="person", name="Next", email="", phone="", reminders=False)
    assert (fresh.number, fresh.pk) == (16, last + 1)


def _services(folder: Path) -> Path:
    path = folder / "services.csv"
    path.write_text("Item,Service,Date,Months\nE-00001,=Check,2024-01-01,12\nE-00001,=Check,2020-01-01,24\n")
    return path


def test_it_takes_every_table_but_those_that_are_named(db: None) -> None:
    ours = {m._meta.label for m in apps.get_models() if m.__module__.split(".")[0] in ("shop", "jobs")}

    assert {model._meta.label for model in tables()} == ours - set(LEFT_OUT)
    assert set(LEFT_OUT) <= ours
    assert set(READ_BACK) <= ours


@pytest.mark.parametrize("door", ["/office/take-out", "/api/v1/archives"])
def test_it_takes_no_secret(house: House, pages: dict[str, Client], door: str) -> None:
    lead = house.people["lead"]
    _, token = make_token(by=lead, label="logger", scopes=["see"], days=1)
    invite(by=lead, name="Teo", email="teo@aldermouth.example", roles=["counter"])
    letter = bytes(Letter.objects.get(purpose="sign-in").body)
    linked: Any = {"recipient": "c1", "address": "maja@lindqvist.example", "run": "1", "subject": "Due"}
    for purpose in (Purpose.REMINDER, Purpose.BOOKING):
        write_letter(purpose=purpose, text="https://w.example/answer/s3cret", **linked)
    kind = "application/json" if door.startswith("/api/") else MULTIPART_CONTENT
    answer = pages["lead"].post(door, content_type=kind)

    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(b"".join(answer))) as archive:
        text = b"".join(archive.read(name) for name in archive.namelist())
        letters = json.loads(archive.read("post.Letter.json"))
    assert b"Maja Lindqvist" in text
    person = Person.objects.get(pk=lead.pk)
    session = pages["lead"].cookies["session"].value
    for secret in (person.password, person.signing_secret, token, token[:8], session, settings.SECRET_KEY):
        assert secret.encode() not in text
    assert b"key=" in letter
    assert b"key=" not in text
    assert b"choose-password" not in text
    bodies = [row["body"] for row in letters if row["purpose"] in ("reminder", "booking")]
    assert bodies == [None, None]


def test_it_shields_cells_from_spreadsheets(house: House, tmp_path: Path) -> None:
    filled(house)
    call_command("take_out", tmp_path / "a.zip", stdout=io.StringIO())
    with zipfile.ZipFile(tmp_path / "a.zip") as archive:
        text = archive.read("customers.Customer.csv").decode()

    assert ",'=1+1," in text
    assert ",'+441632960417," in text
    assert ",'t Hooft," in text


def test_it_reads_into_an_empty_workshop_only_and_all_or_nothing(house: House, tmp_path: Path) -> None:
    filled(house)
    call_command("take_out", tmp_path / "a.zip", stdout=io.StringIO())

    with pytest.raises(CommandError, match="The workshop is not empty: it has customers"):
        call_command("bring_in", tmp_path / "a.zip", stdout=io.StringIO())
    with pytest.raises(CommandError, match="is there already"):
        call_command("take_out", tmp_path / "a.zip")


@pytest.mark.django_db(transaction=True)
def test_it_refuses_an_archive_that_was_changed(tmp_path: Path) -> None:
    filled(housed(staffed()))
    call_command("take_out", tmp_path / "a.zip", stdout=io.StringIO())
    changed, out = tmp_path / "changed.zip", io.StringIO()
    with zipfile.ZipFile(tmp_path / "a.zip") as old, zipfile.ZipFile(changed, "w") as new:
        for name in old.namelist():
            raw = old.read(name)
            new.writestr(
                name, raw.replace(b"first_stage", b"second_stage") if name == "catalogue.Model.csv" else raw
            )
    flush()

    with nothing_changes(), pytest.raises(CommandError, match="Model.csv is not as it was taken out"):
        call_command("bring_in", changed, stdout=out)
