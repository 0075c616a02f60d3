"""Named people in a small workshop, and a client for each."""

import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client, TransactionTestCase
from rest_framework.test import APIClient

from shop.catalogue.actions import add_model, issue_plan
from shop.catalogue.models import Model, PlanVersion
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.gear.actions import add_item
from shop.gear.models import Item
from shop.instruments.actions import add_instrument, calibrate
from shop.instruments.models import Instrument
from shop.journal.migrations import columns_of
from shop.journal.rules import append_only_sql, drop_append_only_sql
from shop.staff.actions import add_person, authorise, first_lead
from shop.staff.models import Person, PersonRole
from shop.stock.actions import add_part, receive
from shop.stock.models import Lot
from shop.workshop.actions import open_workshop
from shop.workshop.reads import today

ROOT = Path(__file__).resolve().parent.parent
TRACES = ROOT / "fixtures" / "traces"
LONGEST = ("test_fuzz.py", "test_pages.py", "test_matrix.py")
PASSWORD = "a lantern at slack water"
SECRET = "signed with a pencil"
PEOPLE = {
    "lead": "Ada Thornbury",
    "counter": "Bryn Castell",
    "technician": "Ines Okafor",
    "inspector": "Marek Dunwell",
    "storekeeper": "Suri Penhale",
}


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Of several workers none is left alone with a file that takes minutes: those first, then the files with most tests."""
    if hasattr(config, "workerinput"):
        tests = Counter(item.path for item in items)
        items.sort(key=lambda item: (item.path.name not in LONGEST, -tests[item.path]))


@pytest.fixture(scope="session", autouse=True)
def fast_hasher() -> None:
    """Hashing is slow on purpose; one test of the real hasher's cost is enough."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(scope="session", autouse=True)
def own_files(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Photographs and keys of tests are not kept among others."""
    settings.FILES = tmp_path_factory.mktemp("files")
    settings.SIGNING_KEYS = tmp_path_factory.mktemp("signing-keys")


def lift(statements: Any) -> None:
    """Run the append-only statements of every guarded table; the one place that lifts the triggers."""
    with connection.cursor() as cursor:
        for table in settings.APPEND_ONLY:
            for statement in statements(connection.vendor, table, columns_of(connection, table)):
                cursor.execute(statement)


@pytest.fixture(scope="session", autouse=True)
def flush_past_triggers() -> Iterator[None]:
    """Tests that commit are emptied by `flush`, which append-only triggers refuse: lift them around it."""
    flush = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]  # private, but the only hook there is

    def lifted(self: Any) -> None:
        lift(drop_append_only_sql)
        try:
            flush(self)
        finally:
            lift(append_only_sql)

    TransactionTestCase._fixture_teardown = lifted  # type: ignore[attr-defined]  # likewise
    yield
    TransactionTestCase._fixture_teardown = flush  # type: ignore[attr-defined]  # likewise


@dataclass
class House:
    """A small workshop with one person per role and what one job needs."""

    people: dict[str, Person]
    models: dict[str, Model] = field(default_factory=dict)
    plans: dict[str, PlanVersion] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    lots: dict[str, Lot] = field(default_factory=dict)
    customer: Customer = field(init=False)

    def item(self, kind: str = "first_stage", serial: str = "TH-1") -> Item:
        """One more item of the customer."""
        owner, model = self.customer, self.models[kind]
        return add_item(by=self.people["counter"], owner=owner, model=model, serial=serial, owners_mark="")


def staffed() -> dict[str, Person]:
    """An open workshop with one person per role, each with that role only; the technician and the inspector are authorised for Tarnwell."""
    open_workshop(name="Aldermouth Dive Workshop", zone="Europe/London", currency="GBP")
    given = {"password": PASSWORD, "signing_secret": SECRET}
    lead = first_lead(name=PEOPLE["lead"], email="lead@aldermouth.example", **given)
    found = {"lead": lead}
    for role, name in PEOPLE.items():
        if role != "lead":
            found[role] = add_person(
                by=lead, name=name, email=f"{role}@aldermouth.example", roles=[role], **given
            )
    PersonRole.objects.filter(person=lead).exclude(role="lead").delete()
    for role in ("technician", "inspector"):
        authorise(by=lead, person=found[role], maker="Tarnwell", kind="", last_day=None)
    return {role: Person.objects.get(pk=person.pk) for role, person in found.items()}


@pytest.fixture
def people(db: None) -> dict[str, Person]:
    """One person per role, each with that role only."""
    return staffed()


def housed(people: dict[str, Person]) -> House:
    """Models, plans, instruments in calibration, lots in and past their life, one customer."""
    made, lead, store = House(people), people["lead"], people["storekeeper"]
    for kind in ("first_stage", "second_stage"):
        made.models[kind] = add_model(
            by=lead, maker="Tarnwell", name="Hesk", revision="", kind=kind, design=""
        )
        document = json.loads((ROOT / "fixtures" / "plans" / f"{kind}.json").read_text())
        made.plans[kind] = issue_plan(by=lead, model=made.models[kind], key="overhaul", document=document)
    for code, kind, unit, resolution in (
        ("BG-3", "pressure logger", "bar", "0.01"),
        ("MG-1", "low-pressure gauge", "mbar", "0.05"),
        ("TW-2", "torque wrench", "N_m", "0.5"),
    ):
        row = add_instrument(by=lead, code=code, name=code, kind=kind, unit=unit, resolution=resolution)
        day = today()
        calibrate(
            by=lead, instrument=row, done_on=day - timedelta(days=400), good_to=day + timedelta(days=400),
            certificate="C-1",
        )  # fmt: skip
        made.instruments[kind] = row
    for number, life in (("TH-301", None), ("TH-302", 84), ("TH-303", 60), ("TH-401", 120), ("TH-402", 120)):
        source = "the test's own rule" if life else ""
        part = add_part(
            by=store,
            number=number,
            name=number,
            unit="piece",
            material="",
            life_months=life,
            life_source=source,
        )
        made.lots[number] = receive(by=store, part=part, number=f"{number}-A", cured="2Q26", quantity=10)
    ring = made.lots["TH-302"].part
    made.lots["old"] = receive(by=store, part=ring, number="TH-302-OLD", cured="1Q12", quantity=10)
    made.customer = add_customer(
        by=people["counter"], kind="person", name="Maja Lindqvist", email="maja@lindqvist.example",
        phone="+441632960417", reminders=True,
    )  # fmt: skip
    return made


@pytest.fixture
def house(people: dict[str, Person]) -> House:
    """What one job needs."""
    return housed(people)


class Api:
    """A person's API client that sends what the doors ask for."""

    def __init__(self, person: Person | None):
        self.client = APIClient()
        if person:
            self.client.force_authenticate(person)

    def get(self, path: str, **headers: str) -> Any:
        return self.client.get(f"/api/v1/{path}", headers=headers)

    def post(self, path: str, data: Any = None, seen: int | None = None, key: str = "", **more: Any) -> Any:
        """A POST with a fresh Idempotency-Key and, when `seen` is given, If-Match."""
        headers = {"Idempotency-Key": f'"{key or uuid4()}"'}
        if seen is not None:
            headers["If-Match"] = f'"{seen}"'
        return self.client.post(f"/api/v1/{path}", data or {}, headers=headers, **({"format": "json"} | more))

    def put(self, path: str, data: Any, seen: int | None = None) -> Any:
        headers = {} if seen is None else {"If-Match": f'"{seen}"'}
        return self.client.put(f"/api/v1/{path}", data, headers=headers, format="json")


def clients(people: dict[str, Person]) -> dict[str, Api]:
    """An API client per role, and a stranger's under "stranger"."""
    return {role: Api(person) for role, person in people.items()} | {"stranger": Api(None)}


@pytest.fixture
def api(people: dict[str, Person]) -> dict[str, Api]:
    """A client of the API for each."""
    return clients(people)


@pytest.fixture
def pages(people: dict[str, Person]) -> dict[str, Client]:
    """A signed-in browser client per role, and a stranger's."""
    found = {"stranger": Client()}
    for role, person in people.items():
        found[role] = Client()
        found[role].force_login(person)
    return found
