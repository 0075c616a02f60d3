"""`manage.py demo`: a small invented workshop, built through the actions that people use."""

import json
import secrets
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from jobs.advance.actions import advance
from jobs.bench.actions import Given, Source, record_test
from jobs.checkin.actions import check_in
from jobs.estimates.actions import take_go_ahead
from jobs.flow.models import DropOff, Job
from jobs.handback.actions import hand_back
from jobs.planning.actions import assign
from jobs.signoff.actions import sign_off
from jobs.tray.actions import end_part
from jobs.worksheet.actions import do_step
from shop.catalogue.actions import add_model, issue_plan
from shop.catalogue.models import Model, PlanVersion
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.gear.actions import add_item
from shop.gear.models import Item
from shop.instruments.actions import add_instrument, calibrate
from shop.instruments.models import Instrument
from shop.staff.actions import add_person, authorise, first_lead
from shop.staff.models import Person
from shop.stock.actions import add_part, receive
from shop.stock.models import Lot
from shop.workshop.actions import open_workshop
from shop.workshop.reads import at, noon, today, workshop

FIXTURES = settings.ROOT / "fixtures"
PEOPLE = [
    ("counter", "Bryn Castell"),
    ("technician", "Ines Okafor"),
    ("inspector", "Marek Dunwell"),
    ("storekeeper", "Suri Penhale"),
]
PARTS = [
    ("TH-301", "Filter, sintered", "bronze", None, "3Q25", 40),
    ("TH-302", "O-ring, yoke", "NBR", 84, "2Q24", 60),
    ("TH-303", "Seat, first stage", "polyurethane", 60, "1Q25", 25),
    ("TH-401", "Poppet seat", "silicone", 120, "4Q24", 30),
    ("TH-402", "Exhaust valve", "silicone", 120, "4Q24", 30),
]
CUSTOMERS = [
    ("person", "Maja Lindqvist", "maja@lindqvist.example", "+441632960417", True),
    ("person", "Rowan Achterberg", "rowan@achterberg.example", "+441632960102", True),
    ("organisation", "Aldermouth Evening Divers", "kit@eveningdivers.example", "+441632960733", True),
    ("person", "Yuki Tanamori", "yuki@tanamori.example", "+441632960255", False),
    ("person", "Tomás Brandão", "tomas@brandao.example", "+441632960861", True),
    ("person", "نور الحداد", "nour@haddad.example", "+441632960911", True),
]


@dataclass
class House:
    """What the demo has made so far."""

    people: dict[str, Person] = field(default_factory=dict)
    secrets: dict[str, str] = field(default_factory=dict)
    models: dict[str, Model] = field(default_factory=dict)
    plans: dict[str, PlanVersion] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    customers: list[Customer] = field(default_factory=list)


class Command(BaseCommand):
    help = "Fill an empty workshop with a small demo and print one sign-in per role."

    def handle(self, *args: Any, **options: Any) -> None:
        if workshop():
            raise CommandError("The workshop is open already.", returncode=3)
        with transaction.atomic():
            for line in build():
                self.stdout.write(line)


def build() -> list[str]:
    """Build everything; one line per role with e-mail, password and signing secret."""
    open_workshop(name="Aldermouth Dive Workshop", zone="Europe/London", currency="GBP")
    house, day, lines = House(), today(), []
    with at(noon(day - timedelta(days=400))):
        lines = _people(house)
        _standing(house, day)
    _past(house, day - timedelta(days=350))
    _present(house, day)
    return lines


def _people(house: House) -> list[str]:
    lines = []
    for role, name in [("lead", "Ada Thornbury"), *PEOPLE]:
        first = name.split()[0].lower()
        email, password, secret = (
            f"{first}@aldermouth.example",
            secrets.token_urlsafe(15),
            secrets.token_urlsafe(9),
        )
        given: dict[str, Any] = {"name": name, "email": email, "password": password, "signing_secret": secret}
        if role == "lead":
            house.people[role] = first_lead(**given)
        else:
            house.people[role] = add_person(by=house.people["lead"], roles=[role], **given)
        house.secrets[role] = secret
        lines.append(f"{role}  {email}  {password}  {secret}")
    for role in ("technician", "inspector"):
        authorise(
            by=house.people["lead"], person=house.people[role], maker="Tarnwell", kind="", last_day=None
        )
    return lines


def _standing(house: House, day: date) -> None:
    lead = house.people["lead"]
    for kind, design in (("first_stage", "balanced diaphragm"), ("second_stage", "downstream")):
        house.models[kind] = add_model(
            by=lead, maker="Tarnwell", name="Hesk", revision="", kind=kind, design=design
        )
        document = json.loads((FIXTURES / "plans" / f"{kind}.json").read_text())
        house.plans[kind] = issue_plan(by=lead, model=house.models[kind], key="overhaul", document=document)
    for code, name, kind, unit, resolution in (
        ("BG-3", "Pressure logger", "pressure logger", "bar", "0.01"),
        ("MG-1", "Low-pressure gauge", "low-pressure gauge", "mbar", "0.05"),
        ("TW-2", "Torque wrench 5 to 50 N·m", "torque wrench", "N_m", "0.5"),
    ):
        row = add_instrument(by=lead, code=code, name=name, kind=kind, unit=unit, resolution=resolution)
        good_to = day + timedelta(days=110)
        calibrate(
            by=lead,
            instrument=row,
            done_on=day - timedelta(days=400),
            good_to=good_to,
            certificate=f"{code} demo",
        )
        house.instruments[kind] = row
    for number, name, material, life, cured, quantity in PARTS:
        source = "ISO 2230:2002 group life, read on a seal seller's page" if life else ""
        part = add_part(
            by=lead,
            number=number,
            name=name,
            unit="piece",
            material=material,
            life_months=life,
            life_source=source,
        )
        receive(by=lead, part=part, number=f"{number}-{cured}", cured=cured, quantity=quantity)
    old = Lot.objects.select_related("part").get(part__number="TH-302")
    receive(by=lead, part=old.part, number="TH-302-3Q16", cured="3Q16", quantity=6)
    for kind, name, email, phone, reminders in CUSTOMERS:
        house.customers.append(
            add_customer(by=lead, kind=kind, name=name, email=email, phone=phone, reminders=reminders)
        )


def _gear(house: House, customer: int, kind: str, serial: str) -> Item:
    owner, model = house.customers[customer], house.models[kind]
    return add_item(by=house.people["lead"], owner=owner, model=model, serial=serial, owners_mark="")


def _dropped_off(
    house: House, customer: int, items: list[Item], promised_on: date, words: str = ""
) -> DropOff:
    lines: Any = [
        {
            "item": item,
            "plan": house.plans[item.model.kind],
            "contents": "no gas",
            "condition": "",
            "words": words,
        }
        for item in items
    ]
    by = house.people["counter"]
    return check_in(by=by, customer=house.customers[customer], promised_on=promised_on, lines=lines)


def _past(house: House, day: date) -> None:
    """Last year's services, so that clocks fall due soon."""
    for customer, serial in ((0, "TH-40817"), (1, "TH-39221"), (2, "TH-41006"), (5, "TH-40100")):
        with at(noon(day)):
            items = [
                _gear(house, customer, "first_stage", serial),
                _gear(house, customer, "second_stage", f"{serial}-S"),
            ]
            drop_off = _dropped_off(house, customer, items, day + timedelta(days=7))
            for job in Job.objects.filter(drop_off=drop_off).order_by("pk"):
                _serviced(house, job)
            drop_off.refresh_from_db()
            labels = [item.label for item in items]
            collector = house.customers[customer].name
            hand_back(
                by=house.people["counter"], drop_off=drop_off, seen=drop_off.version, collector=collector,
                items=labels, acknowledged=False,
            )  # fmt: skip


def _present(house: House, day: date) -> None:
    """Jobs on several legs today."""
    _gear(house, 4, "first_stage", "TH-43002")
    waiting = _gear(house, 3, "first_stage", "TH-42250")
    _dropped_off(house, 3, [waiting], day + timedelta(days=6), "breathes wet sometimes")
    stripped = _gear(house, 0, "first_stage", "TH-40818")
    drop_off = _dropped_off(house, 0, [stripped], day + timedelta(days=1), "hisses at the yoke")
    job = Job.objects.get(drop_off=drop_off)
    _begun(house, job)
    for key in ("ports", "yoke", "spring"):
        _step(house, job, key)
    tested = _gear(house, 1, "second_stage", "TH-39222-S")
    drop_off = _dropped_off(house, 1, [tested], day + timedelta(days=2))
    _rebuilt(house, Job.objects.get(drop_off=drop_off))


def _move(house: House, job: Job, to: str) -> None:
    job.refresh_from_db()
    advance(by=house.people["technician"], job=job, to=to, seen=job.version, reason="")


def _begun(house: House, job: Job) -> None:
    if not job.drop_off.go_aheads.exists():
        price = sum(each.plan.price for each in Job.objects.filter(drop_off=job.drop_off))
        name = job.drop_off.customer.name
        take_go_ahead(
            by=house.people["counter"], drop_off=job.drop_off, amount=price, given_by=name, how="in person"
        )
    job.refresh_from_db()
    assign(by=house.people["lead"], job=job, technician=house.people["technician"], seen=job.version)
    _move(house, job, "cleared")
    _move(house, job, "stripping")


def _step(house: House, job: Job, key: str) -> None:
    step = job.plan.step(key)
    assert step is not None
    counted = sum(part.count for part in job.plan.freed(step)) or None
    wrench = house.instruments["torque wrench"] if step.torque_n_m else None
    do_step(
        by=house.people["technician"],
        job=job,
        key=key,
        counted=counted,
        torque_n_m=step.torque_n_m,
        wrench=wrench,
    )


def _rebuilt(house: House, job: Job) -> None:
    """Strip, account for every part, clean and rebuild: the job is on testing afterwards."""
    _begun(house, job)
    for step in job.plan.steps:
        if step.leg == "stripping":
            _step(house, job, step.key)
    for part in job.plan.parts:
        lot = Lot.objects.filter(part__number=part.renew, on_hand__gt=5).order_by("-good_to").first()
        ending = "renewed" if part.renew else "reused"
        end_part(
            by=house.people["technician"],
            job=job,
            key=part.key,
            ending=ending,
            lot=lot if part.renew else None,
        )
    for leg in ("cleaning", "rebuilding"):
        _move(house, job, leg)
        for step in job.plan.steps:
            if step.leg == leg:
                _step(house, job, step.key)
    _move(house, job, "testing")


def _serviced(house: House, job: Job) -> None:
    _rebuilt(house, job)
    trace = (Path(FIXTURES) / "traces" / "flat.csv").read_text()
    readings = {
        "low_supply": ("9.42", "bar"),
        "supply_drop": ("0.2", "bar"),
        "cracking": ("3.1", "mbar"),
        "exhalation": ("4.2", "mbar"),
    }
    for asked in job.plan.tests:
        reading, unit = readings.get(asked.key, ("", ""))
        instrument = house.instruments[asked.needs]
        record_test(
            by=house.people["technician"], job=job, key=asked.key, phase="final", source=Source(instrument),
            given=Given(reading, unit, "" if reading else trace),
        )  # fmt: skip
    job.refresh_from_db()
    sign_off(
        by=house.people["technician"], job=job, seen=job.version, outcome="serviced", words="",
        secret=house.secrets["technician"], second=house.people["inspector"],
        second_secret=house.secrets["inspector"],
    )  # fmt: skip
