"""One row of everything that an address may name, more of the same on request, and a client for each role."""

import json
from datetime import date, timedelta
from http.cookies import SimpleCookie
from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, override_settings
from rest_framework.test import APIClient

from jobs.batches.actions import set_columns
from jobs.batches.actions import upload as upload_sheet
from jobs.bench.models import Attempt
from jobs.bringin.actions import go_on
from jobs.evidence.actions import keep_as_evidence
from jobs.flow.models import Hold, Line
from jobs.handback.actions import ask_to_collect
from jobs.handback.models import Asked, HandBack
from jobs.live.actions import add_chunk, begin
from jobs.notices.models import Affected, Doubt
from jobs.rights.actions import ask_erasure
from jobs.signoff.models import SignOff
from jobs.signoff.reads import signed_record
from jobs.terms.actions import write_terms
from shop.advice.actions import add_advice
from shop.advice.rules import SOURCE
from shop.alternatives.actions import approve
from shop.catalogue.actions import issue_plan
from shop.counts.actions import begin_count, enter
from shop.customers.actions import add_customer
from shop.drafts.actions import make_draft
from shop.files.models import Document, Photograph
from shop.health.models import Heartbeat
from shop.instruments.actions import check
from shop.invitations.actions import invite
from shop.invitations.reads import link_for
from shop.invitations.rules import INVITED_FOR
from shop.orders.actions import draft_order, receive_line, send_order
from shop.outbox.actions import stop_letter
from shop.post.actions import suppress, write_letter
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.sets.actions import make_set
from shop.sites.actions import watch
from shop.staff.actions import add_person, deactivate, make_token
from shop.staff.models import Token
from shop.staff.rules import Can, Role
from shop.stock.actions import add_bin, add_content, add_part, receive
from shop.suppliers.actions import add_offer, add_supplier
from shop.workshop.reads import at, noon, now, today
from tests.bills.made import charged
from tests.conftest import PASSWORD, ROOT, SECRET, TRACES, Api, House
from tests.guards.answer_entries import answer_rows
from tests.guards.bodies import Entry
from tests.guards.clock_entries import rule_rows
from tests.guards.condition_entries import condition_rows
from tests.guards.letter_entries import worded
from tests.guards.porthole_entries import porthole_rows
from tests.guards.quote_entries import quote_rows
from tests.guards.routes import API, address
from tests.lending.made import lent, our_item
from tests.orders.made import ordered
from tests.outbox.made import signed_headers
from tests.photographs import PDF, encoded, form, upload
from tests.safety.made import noted
from tests.walk import EVIDENCE, Walk, ok

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
            "calibration": house.instruments["torque wrench"].calibrations.get(),
            "lot": house.lots["TH-302"],
            "old_lot": house.lots["old"],
            "part": house.lots["TH-302"].part,
            "item": house.item(serial="spare"),
            "letter": self.letter("2026-01-01"),
            "stopped_letter": stop_letter(by=house.people["lead"], letter=self.letter("2026-01-02")),
            "suppressed": suppress(address="gone@achterberg.example", why="550 5.1.1 unknown", by="system"),
            "draft": make_draft(
                by=house.people["lead"],
                model=house.models["first_stage"],
                key="inspection",
                document=house.plans["first_stage"].document,
            ),
            "advice": add_advice(
                by=house.people["lead"], what="creep", side="above", kind="first_stage", part="Seat",
                words="Worn.", source=SOURCE,
            ),
        }  # fmt: skip
        for each in ("wrench", "gauge"):
            check(
                by=house.people["lead"], instrument=self.rows[each], done_on=today(), against="MG-2",
                deviation="0", found="good",
            )  # fmt: skip
        given: dict[str, Any] = {"email": "m@lindqvist.example", "phone": "", "reminders": False}
        counter = house.people["counter"]
        self.rows |= {
            "other_customer": add_customer(by=counter, kind="person", name="M. Lindqvist", **given),
            "other_item": house.item(serial="spared"),
            "identifier": self.rows["item"].identifiers.get(),
        }
        Heartbeat.objects.create(at=noon(date(2199, 1, 1)))  # somebody works
        self._people()
        self._clients()
        self._loggings()
        self._jobs()
        self._store()
        self._doubts()
        self.rows["notice"], self.rows["match"] = noted(house)
        write_terms(by=house.people["lead"], text="We keep gear for six months.", seen=0)
        condition_rows(house.people["lead"], self.rows["line"])
        self._sets()
        self.rows["evidence"] = keep_as_evidence(
            by=self.people["counter"], item=house.item(serial="as evidence"), seals="A-1", **EVIDENCE
        )
        self._batch()
        self.rows |= rule_rows(house, self.rows["other_item"])
        self.rows |= {"our_item": our_item(house), "loan": lent(house, our_item(house, "R-2"))}
        worded(house.people["lead"])
        self.rows |= answer_rows(house)
        self._asked(add_customer(by=counter, kind="person", name="Tove Arnbak", **given))

    def _asked(self, asking: Any) -> None:
        """Somebody asks to be erased; money, a link to a drop-off, an amount put to its customer."""
        self.rows["erasure"] = ask_erasure(
            by=self.house.people["lead"], customer=asking, reason="By post.", asked_on=today()
        )
        self.rows |= charged(self.house, self.api)
        self.rows |= porthole_rows(self.people["token"], self.rows["signed"])
        self.rows |= quote_rows(self.people["token"], self.rows["priced"])

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
        left = add_person(name="Osric Tane", email="osric@aldermouth.example", roles=["counter"], **given)
        self.rows["left"] = deactivate(by=given["by"], person=left, seen=left.version)
        self.rows["invited"] = invite(
            by=given["by"], name="Teo Marrable", email="teo@aldermouth.example", roles=["counter"]
        )
        self.key = link_for(self.rows["invited"], INVITED_FOR).partition("key=")[2]
        self.rows["authorisation"] = self.rows["technician"].authorisations.get()
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
        """A new job, one that is open on the bench, one on its tests, one signed off as declined, one handed back."""
        new = Walk(self.house, self.api, contents="under pressure")
        ok(new.go_ahead(), 201)
        opened = Walk(self.house, self.api).to("cleared")
        ok(opened.trace(phase="as received"), 201)
        ok(opened.move("stripping"))
        ok(opened.step("yoke"), 201)
        testing = Walk(self.house, self.api, "second_stage").to("testing")
        ok(testing.reading("cracking", "3.1", "mbar"), 201)
        signed = Walk(self.house, self.api)
        ok(signed.sign(**DECLINED), 201)
        record = SignOff.objects.get()
        gone = Walk(self.house, self.api)
        ok(gone.sign(**DECLINED), 201)
        ok(gone.hand_back(acknowledged=True), 201)
        self.walks = {"new": new, "open": opened, "testing": testing, "signed": signed}
        self.label = signed.item.label
        self.rows |= {"new_job": new.row, "open_job": opened.row, "testing_job": testing.row}
        self.rows |= {"drop_off": new.row.drop_off, "signed": signed.row.drop_off}
        self.rows |= {
            "attempt": Attempt.objects.get(key="cracking"),
            "record": record,
            "hand_back": HandBack.objects.get(),
        }
        self.rows["logged"] = Attempt.objects.get(key="intermediate_pressure")
        path = f"items/{self.rows['item'].uid}/photographs"
        ok(self.api["counter"].post(path, form(encoded(), "the serial"), format="multipart"), 201)
        path = f"calibrations/{self.rows['calibration'].uid}/documents"
        ok(self.api["lead"].post(path, {"document": upload(PDF)}, format="multipart"), 201)
        self.rows |= {"photograph": Photograph.objects.get(), "document": Document.objects.order_by("pk")[0]}

        self.rows |= {
            "signed_job": signed.row,
            "line": new.row.line,
            "inspector": self.house.people["inspector"],
        }
        held = ok(new.api["counter"].post(f"jobs/{new.job}/holds", {"kind": "parts", "why": "Seats."}), 201)
        self.rows["hold"] = Hold.objects.get(uid=held["uid"])
        self._bagged()
        with at(noon(today() - timedelta(days=60))):
            for how in (Asked.EMAIL, Asked.LETTER):
                ask_to_collect(by=self.house.people["counter"], drop_off=self.rows["signed"], how=how)

    def _bagged(self) -> None:
        """A bag that nobody has itemised, and a job into whose gear nobody has looked; another plan for the first."""
        plan = self.house.plans["first_stage"]
        lines = [
            {"words": "a green bag"},
            {"item": str(self.house.item(serial="shut").uid), "plan": str(plan.uid)},
        ]
        given = {"customer": str(self.house.customer.uid), "promised_on": "2199-01-01", "lines": lines}
        made = ok(self.api["counter"].post("drop-offs", given), 201)
        bag, shut = (Line.objects.get(uid=line["uid"]) for line in made["lines"])
        self.rows |= {"bag": bag, "closed_job": shut.job}
        self.rows["other_plan"] = issue_plan(
            by=self.house.people["lead"], model=plan.model, key="inspection", document=plan.document
        )

    def _store(self) -> None:
        """A kit with a lot of it, and a part that is in none."""
        keeper = self.house.people["storekeeper"]
        plain: dict[str, Any] = {"unit": "piece", "material": "", "life_months": None, "life_source": ""}
        kit = add_part(by=keeper, number="TH-KIT", name="Kit", **plain)
        self.rows["empty_kit"] = add_part(by=keeper, number="TH-BAG", name="A kit that none came of", **plain)
        add_content(by=keeper, kit=kit, part=self.house.lots["TH-401"].part, count=2)
        iso: dict[str, Any] = {
            "material": "NBR",
            "life_months": None,
            "life_source": "",
            "life_rule": "iso-2230-b",
        }
        ring = add_part(by=keeper, number="TH-ISO", name="Ring", unit="piece", **iso)
        self.rows["iso_lot"] = receive(by=keeper, part=ring, number="ISO-1", cured="2Q26", quantity=3)
        self.rows["kit_lot"] = receive(by=keeper, part=kit, number="KIT-1", cured="2Q26", quantity=3)
        self.rows["bin"] = add_bin(by=keeper, site="Workshop", label="A 1")
        self.rows["count"] = begin_count(by=keeper, bin=add_bin(by=keeper, site="Workshop", label="A 2"))
        enter(by=keeper, count=self.rows["count"], lot=self.rows["iso_lot"], counted=0, alone=False)
        self.rows["other_part"] = self.house.lots["TH-303"].part
        self.rows["kit"] = kit
        self.rows["alternative"] = approve(
            by=self.house.people["lead"], part=self.rows["part"], other=self.rows["other_part"],
            condition="For gear of the second series.", source="The maker's bulletin 12.",
        )  # fmt: skip
        part = self.rows["part"]
        part.refresh_from_db()
        watch(by=keeper, part=part, seen=part.version, site="Workshop", minimum=1, up_to=9)
        self._orders()

    def _orders(self) -> None:
        """A supplier with an offer, an order that was sent and a draft; another supplier who offers nothing."""
        made = ordered(self.house)
        self.rows |= {"supplier": made.supplier, "offer": made.offer, "order": made.sent}
        self.rows |= {"order_line": made.line, "draft_order": made.draft, "draft_line": made.wish}
        by = self.house.people["storekeeper"]
        self.rows["other_supplier"] = add_supplier(by=by, name="Skelwick Rubber", email="", lead_days=None)

        # Two years of lead time: whatever the store has is less than what the open jobs make expect.
        needed = add_supplier(by=by, name="Morrow Filters", email="", lead_days=700)
        filters = self.house.lots["TH-301"].part
        add_offer(by=by, part=filters, supplier=needed, number="", pack_size=10, price=None)
        self.rows["needed_supplier"] = needed

        springs = add_supplier(by=by, name="Hessle Springs", email="", lead_days=7)
        spring = self.house.lots["TH-402"].part
        offer = add_offer(by=by, part=spring, supplier=springs, number="", pack_size=10, price=None)
        order = draft_order(by=by, supplier=springs, lines=[(offer, 1)])
        line = send_order(by=by, order=order, seen=order.version, how="paper").lines.get()
        receive_line(by=by, line=line, number="SP-1", cured="2Q26", quantity=2)
        self.rows["receipt"] = line.receipts.get()

    def _doubts(self) -> None:
        """A doubt that touches a job of its own, and one that touches none; neither stops any other job here."""
        given: dict[str, Any] = {"why": "The gauge stuck.", "at": now(), "by": self.house.people["lead"]}
        touching = Doubt.objects.create(about="attempt", attempt=self.rows["attempt"], **given)
        touched = Affected.objects.create(doubt=touching, job=Walk(self.house, self.api).row)
        Affected.objects.create(doubt=touching, job=self.rows["attempt"].round.job)
        loose = Doubt.objects.create(about="lot", lot=self.house.lots["TH-303"], **given)
        self.rows |= {"doubt": touching, "affected": touched, "loose_doubt": loose}

    def _sets(self) -> None:
        """A set with one item in it, and an item in none."""
        by, house = self.people["counter"], self.house
        self.rows |= {"set_item": house.item(serial="in a set"), "loose_item": house.item(serial="in none")}
        self.rows["set"] = make_set(by=by, owner=house.customer, name="a set", items=[self.rows["set_item"]])

    def _batch(self) -> None:
        """A file whose dry run is done, and one to send."""
        lead = self.people["lead"]
        batch = upload_sheet(by=lead, what="customers", name="a.csv", raw=b"Name\nAda Merrow\nBo Merrow\n")
        self.rows["batch"] = go_on(set_columns(by=lead, batch=batch, mapping=batch.mapping))

    def _loggings(self) -> None:
        """A first stage that may be logged as received, and one that is."""
        logger = self.rows["logger"] = self.house.instruments["pressure logger"]
        traced = Walk(self.house, self.api).to("cleared")
        logged = Walk(self.house, self.api).to("cleared")
        given: dict[str, Any] = {"phase": "as received", "instrument": logger, "key": "intermediate_pressure"}
        row = begin(by=self.house.people["technician"], job=logged.row, **given)
        lines = (TRACES / "creep_0p02.csv").read_text().partition("\n")[2]
        add_chunk(by=self.house.people["technician"], logging=row, n=1, samples=lines)
        self.rows |= {"traced_job": traced.row, "logging": row}

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
        if value == "@@sheet":
            return SimpleUploadedFile("b.csv", b"Name\nCy Merrow\n")
        if value == "@@signed":
            return SimpleUploadedFile("c.json", signed_record(self.rows["record"].uid).encode())
        if value == "@@photograph":
            return upload(encoded())
        if value == "@@document":
            return upload(PDF)
        known = {"@@plan text": PLAN.read_text(), "@@label": self.label, "@@key": self.key}
        known["@@lot code"] = self.house.lots["TH-302"].code
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
        if entry.signed:
            key, raw = b"k" * 32, json.dumps(body).encode()
            with override_settings(BOUNCES_SECRET=key):
                headers = signed_headers(key, raw)
                return self.clients[role].post(path, raw, content_type="application/json", headers=headers)
        media = "multipart" if any(hasattr(each, "read") for each in body.values()) else "json"
        headers = {"Idempotency-Key": f'"{uuid4()}"', "If-Match": f'"{version}"'}
        return getattr(self.clients[role], method.lower())(
            path, body, headers=headers, **({} if method == "GET" else {"format": media})
        )

    def browser(self, role: str) -> Client:
        """The browser of a role, signed in as it was at first, whatever an earlier request did to its cookies."""
        self.browsers[role].cookies = SimpleCookie(self.cookies[role])
        return self.browsers[role]
