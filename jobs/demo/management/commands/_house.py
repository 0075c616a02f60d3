"""The demo's workshop as it stands: people, models with plans, instruments, lots, customers and their gear."""

import json
import secrets
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.db import transaction

from jobs.demo import rules
from jobs.lending.actions import bring_back, lend
from shop.advice.actions import take_shipped
from shop.catalogue.actions import add_model, issue_plan
from shop.catalogue.models import Model, PlanVersion
from shop.clocks.actions import decide, set_going
from shop.clocks.rules import Decision
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.due.actions import renew_address
from shop.gear.actions import add_item, state_facts
from shop.gear.models import Item
from shop.instruments.actions import add_instrument, calibrate
from shop.instruments.models import Instrument
from shop.intervals import actions as intervals
from shop.intervals.models import Interval
from shop.orders.actions import draft_order, receive_line, send_order
from shop.staff.actions import add_person, authorise, first_lead
from shop.staff.models import Person
from shop.stock.actions import add_part, change_part, receive, state_fitness
from shop.stock.models import Part
from shop.suppliers.actions import add_offer, add_supplier
from shop.suppliers.models import Offer
from shop.workshop.reads import at, noon

FIXTURES = settings.ROOT / "fixtures"
ROLES = [
    ("lead", "Ada Thornbury"),
    ("counter", "Bryn Castell"),
    ("technician", "Ines Okafor"),
    ("inspector", "Marek Dunwell"),
    ("storekeeper", "Suri Penhale"),
]
PARTS = [
    ("TH-301", "Filter, sintered", "bronze", ""),
    ("TH-302", "O-ring, yoke", "NBR", "iso-2230-b"),
    ("TH-303", "Seat, first stage", "AU", "iso-2230-a"),
    ("TH-401", "Poppet seat", "VMQ", "iso-2230-c"),
    ("TH-402", "Exhaust valve", "VMQ", "iso-2230-c"),
]
SHEET = "sheet of the invented maker, 2nd edition"
INSTRUMENTS = [
    ("BG-3", "Pressure logger", "pressure logger", "bar", "0.01", "25"),
    ("MG-1", "Low-pressure gauge", "low-pressure gauge", "mbar", "0.05", "60"),
    ("TW-2", "Torque wrench 5 to 50 N·m", "torque wrench", "N_m", "0.5", "50"),
]
SCARCE = "SG-102"  # there are too few of it for the jobs that wait
YEAR = 365


@dataclass
class House:
    """What the demo has made so far."""

    day: date
    people: dict[str, Person] = field(default_factory=dict)
    secrets: dict[str, str] = field(default_factory=dict)
    sign_ins: list[str] = field(default_factory=list)
    documents: list[dict[str, Any]] = field(default_factory=list)
    models: dict[tuple[str, str], Model] = field(default_factory=dict)
    plans: dict[tuple[int, str], PlanVersion] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    customers: list[Customer] = field(default_factory=list)
    items: list[tuple[rules.Gear, Item]] = field(default_factory=list)

    def open(self) -> None:
        """Everything that stands before the first customer comes."""
        self._people()
        self._models()
        self._instruments()
        take_shipped(by=self.people["lead"])
        self._intervals()
        for each in rules.customers():
            told = {name: getattr(each, name) for name in ("kind", *Customer.TOLD)}
            row = add_customer(
                by=self.people["counter"], reminders=each.reminders, fewer=False, ours=False, **told
            )
            self.customers.append(row)
        for gear in rules.gear():
            self.items.append((gear, self.item(gear)))

    def item(self, gear: rules.Gear) -> Item:
        """One more item."""
        owner, model = self.customers[gear.owner], self.models[gear.maker, gear.kind]
        return add_item(
            by=self.people["counter"], owner=owner, model=model, serial=gear.serial, owners_mark=gear.mark
        )

    def _intervals(self) -> None:
        """The published rules, of which this workshop follows one place, and one of an invented maker, also by dives."""
        lead = self.people["lead"]
        intervals.take_shipped(by=lead)
        here = Interval.objects.filter(place="United Kingdom").first()
        maker = intervals.propose(
            by=lead, document="Tarnwell service bulletin", section="4", clock="overhaul", title="Overhaul",
            kind="first_stage", model=self.models["Tarnwell", "first_stage"], dives=100, grace_days=30, months=24,
            source="The maker's sheet; maker and figures are invented.", status="the maker's",
        )  # fmt: skip
        for row, what in ((here, Decision.FOLLOW), (maker, Decision.FORCE)):
            if row is not None:
                decide(by=lead, interval=row, what=what, seen=row.version)
        renew_address(by=lead)

    def rental(self) -> None:
        """Gear of our own to lend: one whose history nobody knows, one that is overdue, one that was lent again and is late."""
        with at(noon(self.day - timedelta(days=41))):
            item = self._rental_items()
        given: dict[str, Any] = {"by": self.people["counter"], "item": item, "borrower": self.customers[6]}
        with at(noon(self.day - timedelta(days=40))):
            loan = lend(until=self.day - timedelta(days=33), note="With its hose and a mouthpiece.", **given)
        with at(noon(self.day - timedelta(days=34))):
            bring_back(by=given["by"], loan=loan, condition="Rinsed, as it went out.")
        with at(noon(self.day - timedelta(days=9))):
            lend(until=self.day - timedelta(days=2), **given)

    def _rental_items(self) -> Item:
        """The three, never serviced since they went into service; the one that is lent."""
        counter = self.people["counter"]
        us = add_customer(
            by=counter, kind="organisation", name="Aldermouth Dive Workshop, rental gear", email="", phone="",
            reminders=False, ours=True,
        )  # fmt: skip
        in_service = {
            ("first_stage", "R-01"): 400,
            ("second_stage", "R-02"): 900,
            ("second_stage", "R-03"): 400,
        }
        for (kind, serial), days in in_service.items():
            model = self.models["Tarnwell", kind]
            item = add_item(by=counter, owner=us, model=model, serial=serial, owners_mark="rental 1")
            given: dict[str, Any] = dict.fromkeys(("specification", "material", "use"), "") | {
                "star": False,
                "made_on": None,
            }
            with transaction.atomic():
                set_going(by=counter, item=item, key="overhaul", title="Overhaul", months=24)
            state_facts(by=counter, item=item, seen=1, in_service_on=self.day - timedelta(days=days), **given)
        return item

    def _people(self) -> None:
        for role, name in ROLES:
            self._person(role, name)
            email, secret = self.people[role].email, self.secrets[role]
            self.sign_ins.append(f"{role}  {email}  {self._password}  {secret}")
        lead = self.people["lead"]
        for role in ("technician", "inspector"):
            authorise(by=lead, person=self.people[role], maker="", kind="", last_day=None, cylinders=True)
        self._person("trainee", "Teo Marrable", ["technician"])
        authorise(
            by=lead, person=self.people["trainee"], maker="Tarnwell", kind="second_stage",
            last_day=self.day + timedelta(days=200), under=self.people["inspector"],
        )  # fmt: skip

    def _person(self, role: str, name: str, roles: list[str] | None = None) -> None:
        email = f"{name.split()[0].lower()}@aldermouth.example"
        self._password, self.secrets[role] = secrets.token_urlsafe(15), secrets.token_urlsafe(9)
        given: dict[str, Any] = {"name": name, "email": email, "password": self._password}
        given["signing_secret"] = self.secrets[role]
        if role == "lead":
            self.people[role] = first_lead(**given)
        else:
            self.people[role] = add_person(by=self.people["lead"], roles=roles or [role], **given)

    def _models(self) -> None:
        lead, documents = self.people["lead"], FIXTURES / "plans"
        for maker, name, kind, design, key, plan in rules.MODELS:
            model = self.models.get((maker, kind)) or add_model(
                by=lead, maker=maker, name=name, revision="", kind=kind, design=design
            )
            self.models[maker, kind] = model
            document = json.loads((documents / f"{plan}.json").read_text())
            self.documents.append(document)
            if maker == "Tarnwell":
                document["clock"]["months"] = 24
            self._issue(model, key, document)
            if kind in ("first_stage", "second_stage"):
                whole = json.loads((documents / f"{kind}.json").read_text())
                self._issue(model, "check", rules.yearly_check(whole))

    def _issue(self, model: Model, key: str, document: dict[str, Any]) -> None:
        version = issue_plan(by=self.people["lead"], model=model, key=key, document=document)
        self.plans[model.pk, key] = version

    def _instruments(self) -> None:
        """Calibrated each year; the torque wrench runs out in a fortnight."""
        for code, name, kind, unit, resolution, full_scale in INSTRUMENTS:
            row = add_instrument(
                by=self.people["lead"], code=code, name=name, kind=kind, unit=unit, resolution=resolution,
                full_scale=full_scale, accuracy="0.1",
            )  # fmt: skip
            self.instruments[kind] = row
            last = self.day + timedelta(days=14 if kind == "torque wrench" else 110)
            for years in (3, 2, 1, 0):
                good_to = last - timedelta(days=years * YEAR)
                calibrate(
                    by=self.people["lead"], instrument=row, done_on=good_to - timedelta(days=YEAR + 30),
                    good_to=good_to, certificate=f"{code} demo {4 - years}",
                )  # fmt: skip

    def stock(self) -> None:
        """Lots of two ages for each part with a life; of the other parts of the plans one lot, and of one too few."""
        keeper = self.people["storekeeper"]
        for number, name, material, rule in PARTS:
            part = add_part(
                by=keeper, number=number, name=name, unit="piece", material=material, life_months=None,
                life_source="", life_rule=rule, maker="Thornhope",
            )  # fmt: skip
            state_fitness(by=keeper, part=part, seen=1, fit_for=("air", "enriched air"), fit_source=SHEET)
            cost = 120 * rules.price_of(number)
            receive(
                by=keeper,
                part=part,
                number=f"{number}-A",
                cured=quarter(self.day, 4),
                quantity=120,
                cost=cost,
            )
            if part.life_months:
                old = quarter(self.day, part.life_months / 12)
                receive(by=keeper, part=part, number=f"{number}-Z", cured=old, quantity=6)
        for number, name in rules.parts_of(self.documents, besides={number for number, *_ in PARTS}):
            part = add_part(
                by=keeper,
                number=number,
                name=name,
                unit="piece",
                material="",
                life_months=None,
                life_source="",
            )
            scarce = number == SCARCE
            receive(by=keeper, part=part, number=f"{number}-A", cured="", quantity=1 if scarce else 12)
            if scarce:
                levels: dict[str, Any] = {"minimum": 4, "up_to": 24}
                change_part(by=keeper, part=part, seen=1, size="", hardness="", **levels)

    def orders(self) -> None:
        """Three suppliers; an order of which one line came in part, and a draft that nobody has sent."""
        keeper, offers = self.people["storekeeper"], dict[str, Offer]()
        for name, email, lead_days, sells in rules.SUPPLIERS:
            supplier = add_supplier(by=keeper, name=name, email=email, lead_days=lead_days)
            for number, pack, theirs in sells:
                part, price = Part.objects.get(number=number), pack * rules.price_of(number)
                offers[number] = add_offer(
                    by=keeper, part=part, supplier=supplier, number=theirs, pack_size=pack, price=price
                )
        ring, seat, scarce = offers["TH-302"], offers["TH-401"], offers[SCARCE]
        with at(noon(self.day - timedelta(days=12))):
            order = draft_order(by=keeper, supplier=ring.supplier, lines=[(ring, 2), (seat, 4)])
            send_order(by=keeper, order=order, seen=order.version, how="e-mail")
        with at(noon(self.day - timedelta(days=3))):
            line, cured = order.lines.get(part=seat.part), quarter(self.day, 1)
            receive_line(by=keeper, line=line, number="TH-401-B", cured=cured, quantity=15)
        draft_order(by=keeper, supplier=scarce.supplier, lines=[(scarce, 1)])


def quarter(day: date, years: float) -> str:
    """The cure quarter so many years before a day, as makers print it: 3Q24."""
    then = day - timedelta(days=round(years * 365.25))
    return f"{(then.month - 1) // 3 + 1}Q{then.year % 100:02d}"
