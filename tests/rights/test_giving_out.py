"""One customer's data out: every row that a foreign key leads to, none of others, with the files; and who looked."""

import io
import json
import re
import zipfile
from typing import Any
from uuid import uuid4

import pytest
from django.apps import apps
from django.db.models import ForeignKey
from django.test import Client

from jobs.whose.rules import HELD, NOT_THEIRS
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.files.models import File
from shop.post.models import Letter
from tests.conftest import Api, House
from tests.rights.made import EMAIL, HUSBAND, NAME, everything
from tests.rights.test_places import edges
from tests.rows import codes, nothing_changes
from tests.walk import EVIDENCE, Walk

Rows = set[tuple[str, int]]


def unpacked(answer: Any) -> tuple[dict[str, Any], dict[str, bytes]]:
    """The JSON of an archive, and its files by name."""
    assert answer.status_code == 200
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as archive:
        found = {name: archive.read(name) for name in archive.namelist()}
    return json.loads(found.pop("data.json")), found


def walked(customer: Customer) -> Rows:
    """Every row from which foreign keys lead to the customer, step by step, without the paths that the export goes by."""
    found: Rows = {("customers.Customer", customer.pk)}
    through = [
        (between._meta.label, field)
        for label in HELD
        for m2m in apps.get_model(label)._meta.local_many_to_many
        for between in [getattr(apps.get_model(label), m2m.name).through]
        for field in between._meta.concrete_fields
        if isinstance(field, ForeignKey) and field.related_model._meta.label == label
    ]
    ends: Rows = set()  # what only mentions them: nothing that hangs on it is theirs
    steps = [(label, field) for label, field in [*edges(), *through] if (label, field.name) not in NOT_THEIRS]
    while True:
        new: Rows = set()
        for label, field in steps:
            target = field.related_model._meta.label  # type: ignore[union-attr]  # a foreign key has a model
            keys = [pk for kind, pk in found if kind == target]
            rows = apps.get_model(label)._default_manager.filter(**{f"{field.name}__in": keys})
            reached = {(label, pk) for pk in rows.values_list("pk", flat=True)}
            if field.name in HELD.get(label, HELD["flow.Round"]).mentions:
                ends |= reached
            else:
                new |= reached
        if new <= found:
            return found | ends
        found |= new


def given(data: dict[str, Any]) -> Rows:
    """The rows of an export that hang on the customer by keys."""
    own = ("files.", "post.", "journal.")
    return {
        (label, row["id"])
        for label, rows in data["tables"].items()
        if not label.startswith(own)
        for row in rows
    }


def test_it_works(house: House, api: dict[str, Api]) -> None:
    hers = everything(house, api)
    other = Walk(house, api)
    api["counter"].post(f"items/{other.item.uid}/evidence", EVIDENCE)

    data, files = unpacked(api["lead"].post(f"customers/{hers.uid}/data"))

    assert given(data) == walked(hers)
    assert {label for label, _ in given(data)} >= {
        "bench.Attempt",
        "signoff.SignOff",
        "handback.HandBack_jobs",
    }
    others = house.customer
    assert not given(data) & (walked(others) - {("flow.DropOff", pk) for _, pk in given(data)})
    assert data["tables"]["customers.Customer"][0]["name"] == NAME
    # Two reminders and three letters about bookings; each holds a link, which is cut, so that nobody answers for her.
    assert [row["address"] for row in data["tables"]["post.Letter"]] == [EMAIL] * 5
    letters = {name: body.decode() for name, body in files.items() if name.startswith("letters/")}
    bodies = b"".join(bytes(row) for row in Letter.objects.values_list("body", flat=True))
    assert b"/answer/" in bodies
    assert all(f"To: {EMAIL}" in body and "Subject: " in body for body in letters.values())
    assert {text for body in letters.values() for text in re.findall(r"/answer/(\S+)", body)} == {"…"}
    assert [row["address"] for row in data["tables"]["post.Suppressed"]] == [EMAIL]
    # Of what was brought, of gear, of the work, of evidence, and her proof as she sent it and as it was kept.
    assert len(data["tables"]["files.Photograph"]) == 6
    assert len(data["tables"]["files.Document"]) == 3
    assert sorted(name.partition("/")[0] for name in files) == ["files"] * 9 + ["letters"] * 5
    assert len(data["tables"]["files.File"]) == File.objects.count() == 7
    assert [row["note"] for row in data["tables"]["lending.Loan"]] == [f"for {HUSBAND}"]
    assert any(
        HUSBAND in row["text"] for row in data["tables"]["journal.Words"]
    )  # of the loan, on our gear's chain
    assert any(NAME in row["text"] for row in data["tables"]["journal.Words"])
    assert "maja@lindqvist.example" not in json.dumps(data) + str(files)


def test_it_says_who_looked(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    path = f"/customers/{house.customer.uid}/"
    assert "Nobody has taken their data out." in pages["lead"].get(f"{path}rights").content.decode()

    unpacked(pages["lead"].post(f"{path}data"))
    unpacked(api["lead"].post(f"customers/{house.customer.uid}/data"))

    looks = api["lead"].get(f"customers/{house.customer.uid}/rights").json()["looks"]
    assert [each["by"] for each in looks] == ["Ada Thornbury"] * 2
    assert "Ada Thornbury</bdi> took their data out" in pages["lead"].get(f"{path}rights").content.decode()
    assert "data given out" in pages["counter"].get(f"{path}history").content.decode()


@pytest.mark.parametrize("role", ["counter", "technician", "inspector", "storekeeper", "stranger"])
def test_it_gives_nothing_to_others(role: str, house: House, api: dict[str, Api]) -> None:
    with nothing_changes():
        answer = api[role].post(f"customers/{house.customer.uid}/data")

    assert answer.status_code == (401 if role == "stranger" else 403)
    assert b"lindqvist" not in answer.content


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("customers/{}/data", {}),
        ("customers/{}/erasures", {"reason": "By post."}),
        ("erasures/{}/erase", {}),
        ("erasures/{}/close", {"why": "Taken back."}),
    ],
)
def test_it_knows_nobody_whom_there_is_not(
    path: str, body: dict[str, str], house: House, api: dict[str, Api]
) -> None:
    """A uid of something else, such as an item's, is no customer and no request."""
    for uid in (uuid4(), house.item().uid):
        assert api["lead"].post(path.format(uid), body).status_code == 404


def test_it_gives_out_those_who_were_merged_in_together(house: House, api: dict[str, Api]) -> None:
    counter = house.people["counter"]
    lost = add_customer(by=counter, kind="person", name="Maja L.", email="", phone="", reminders=False)
    api["counter"].post(f"customers/{lost.uid}/merge", {"into": str(house.customer.uid)}, seen=1)

    data, _ = unpacked(api["lead"].post(f"customers/{house.customer.uid}/data"))

    assert [row["name"] for row in data["tables"]["customers.Customer"]] == ["Maja Lindqvist", "Maja L."]
    assert codes(api["lead"].post(f"customers/{lost.uid}/data")) == ["merged"]
