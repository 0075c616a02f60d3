"""One row of everything that an address may name, more of the same on request, and a client for each role."""

import json
from datetime import timedelta
from http.cookies import SimpleCookie
from typing import Any
from uuid import uuid4

from django.test import Client
from rest_framework.test import APIClient

from jobs.bench.models import Attempt
from jobs.signoff.models import SignOff
from shop.customers.actions import add_customer
from shop.files.models import Photograph
from shop.post.actions import write_letter
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.staff.actions import add_person, make_token
from shop.staff.models import Token
from shop.staff.rules import Can, Role
from tests.conftest import PASSWORD, ROOT, SECRET, Api, House
from tests.guards.entries import Entry
from tests.guards.routes import API, address
from tests.photographs import encoded, form, upload
from tests.walk import Walk, ok

PLAN = ROOT / "fixtures" / "plans" / "first_stage.json"
DECLINED: dict[str, Any] = {
    "outcome": "declined",
    "words": "It goes back as it is.",
    "second": None,
    "second_secret": "",
}


class World:
    """Rows by name; people by role, with "nobody" who has none, and "token": a token that may only see."""

    def __init__(self, house: House, api: dict[str, Api]):
        self.house, self.api = house, api
        self.rows: dict[str, Any] = {"customer": house.customer, "technician": house.people["technician"]}
        self.rows |= {"model": house.models["first_stage"], "plan": house.plans["first_stage"]}
        self.rows |= {
            "wrench": house.instruments["torque wrench"],
            "gauge": house.instruments["low-pressure gauge"],
            "lot": house.lots["TH-302"],
            "part": house.lots["TH-302"].part,
            "item": house.item(serial="spare"),
            "letter": self.letter("2026-01-01"),
        }
        given: dict[str, Any] = {"email": "m@lindqvist.example", "phone": "", "reminders": False}
        counter = house.people["counter"]
        self.rows |= {
            "other_customer": add_customer(by=counter, kind="person", name="M. Lindqvist", **given),
            "other_item": house.item(serial="spared"),
            "identifier": self.rows["item"].identifiers.get(),
        }
        self._people()
        self._clients()
        self._jobs()

    def _people(self) -> None:
        """Somebody with every role for the token, somebody with none, and a token of everybody's own to end."""
        given: dict[str, Any] = {
            "by": self.house.people["lead"],
            "password": PASSWORD,
            "signing_secret": SECRET,
        }
        everything = add_person(name="Orla Venn", email="orla@aldermouth.example", roles=list(Role), **given)
        nothing = add_person(name="Edda Quill", email="edda@aldermouth.example", roles=[], **given)
        self.people = self.house.people | {"token": everything, "nobody": nothing}
        _, self.secret = make_token(by=everything, label="narrow", scopes=[str(Can.SEE)], days=1)
        day = timedelta(days=1)
        self.tokens = {
            role: Token.objects.create(user=person, expiry=day, label="spare", scopes=[])[0].uid
            for role, person in self.people.items()
        }

    def _clients(self) -> None:
        """A browser and an API client for each role and for a stranger; the token goes through its own authentication."""
        self.browsers = {"stranger": Client(raise_request_exception=False)}
        self.clients = {"stranger": APIClient(raise_request_exception=False)}
        for role, person in self.people.items():
            self.browsers[role] = Client(raise_request_exception=False)
            self.browsers[role].force_login(person)
            self.clients[role] = APIClient(raise_request_exception=False)
            self.clients[role].force_authenticate(person)
        self.clients["token"].force_authenticate(None)
        self.clients["token"].credentials(HTTP_AUTHORIZATION=f"Token {self.secret}")
        self.cookies = {
            role: {name: each.value for name, each in browser.cookies.items()}
            for role, browser in self.browsers.items()
        }

    def _jobs(self) -> None:
        """A new job, one that is open on the bench, one on its tests, one signed off as declined."""
        new = Walk(self.house, self.api, contents="under pressure")
        ok(new.go_ahead(), 201)
        opened = Walk(self.house, self.api).to("stripping")
        testing = Walk(self.house, self.api, "second_stage").to("testing")
        ok(testing.reading("cracking", "3.1", "mbar"), 201)
        signed = Walk(self.house, self.api)
        ok(signed.sign(**DECLINED), 201)
        self.walks = {"new": new, "open": opened, "testing": testing, "signed": signed}
        self.label = signed.item.label
        self.rows |= {"new_job": new.row, "open_job": opened.row, "testing_job": testing.row}
        self.rows |= {"drop_off": new.row.drop_off, "signed": signed.row.drop_off}
        self.rows |= {"line": new.row.line}
        path = f"items/{self.rows['item'].uid}/photographs"
        ok(self.api["counter"].post(path, form(encoded(), "the serial"), format="multipart"), 201)
        self.rows |= {"photograph": Photograph.objects.get()}
        self.rows |= {"attempt": Attempt.objects.get(), "record": SignOff.objects.get()}

    def letter(self, run: str) -> Letter:
        """One more letter to the customer."""
        row = write_letter(
            recipient=str(self.house.customer.uid), address="maja@lindqvist.example", purpose=Purpose.READY,
            run=run, subject="Ready", text="Ready.",
        )  # fmt: skip
        assert row is not None
        return row

    def body(self, value: Any) -> Any:
        """A body of the table with this world's rows in it."""
        if isinstance(value, dict):
            return {key: self.body(each) for key, each in value.items()}
        if isinstance(value, list):
            return [self.body(each) for each in value]
        if not isinstance(value, str) or not value.startswith("@"):
            return value
        if value == "@@plan":
            return json.loads(PLAN.read_text())
        if value == "@@photograph":
            return upload(encoded())
        known = {"@@plan text": PLAN.read_text(), "@@label": self.label}
        return known.get(value) or str(self.rows[value[1:]].uid)

    def path(self, route: str, entry: Entry, role: str) -> str:
        """The address of an entry; a token is one's own."""
        if entry.row == "token":
            return address(route, self.tokens.get(role, uuid4()), entry.key)
        return address(route, self.rows[entry.row].uid if entry.row else "", entry.key)

    def version(self, entry: Entry) -> int:
        """The version of the entry's row, as somebody who looks at it now sees it."""
        row: Any = self.rows.get(entry.row)
        return row._meta.model.objects.get(pk=row.pk).version if hasattr(row, "version") else 1

    def send(self, role: str, method: str, route: str, entry: Entry) -> Any:
        """The answer to an entry's valid request by a role."""
        path, body, version = self.path(route, entry, role), self.body(entry.body or {}), self.version(entry)
        if not route.startswith(API):
            carried = {"once": uuid4(), "seen": version} if method == "POST" else {}
            return getattr(self.browser(role), method.lower())(path, carried | body)
        media = "multipart" if any(hasattr(each, "read") for each in body.values()) else "json"
        headers = {"Idempotency-Key": f'"{uuid4()}"', "If-Match": f'"{version}"'}
        return getattr(self.clients[role], method.lower())(
            path, body, headers=headers, **({} if method == "GET" else {"format": media})
        )

    def browser(self, role: str) -> Client:
        """The browser of a role, signed in as it was at first, whatever an earlier request did to its cookies."""
        self.browsers[role].cookies = SimpleCookie(self.cookies[role])
        return self.browsers[role]
