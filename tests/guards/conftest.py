"""The world of the guards, and a job that went the whole way."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.db import transaction

from jobs.batches.actions import upload
from jobs.batches.models import Brought, Upload
from jobs.bench.models import Attempt
from jobs.bills.actions import counter_bill, take_back_payment
from jobs.estimates.actions import price_plan
from jobs.evidence.actions import keep_as_evidence
from jobs.flow.models import Hold, Job
from jobs.handback.models import Asked, Disposal
from jobs.lending.models import Loan
from jobs.live.models import Chunk, Logging
from jobs.matches.actions import answer_match
from jobs.planning.models import Takeover
from jobs.reminders.actions import remind
from jobs.safety.actions import withdraw_notice
from jobs.terms.actions import accept_terms, write_terms
from shop.advice.actions import add_advice
from shop.advice.rules import SOURCE
from shop.alternatives.models import Alternative
from shop.catalogue.actions import withdraw_plan
from shop.clocks.actions import tally
from shop.clocks.models import Restart, TakenBack
from shop.counts.actions import begin_count, enter
from shop.customers.actions import add_customer
from shop.drafts.actions import copy_plan
from shop.gear.models import GearSet, Member
from shop.instruments.actions import check, keep_certificate
from shop.instruments.models import BadPeriod
from shop.intervals.actions import propose
from shop.orders.models import Receipt
from shop.post.actions import suppress
from shop.sites.models import SiteLevel
from shop.stock.models import Content, Movement
from shop.workshop.reads import now, today
from tests.bills.made import charged
from tests.conftest import Api, House, clients, housed, staffed
from tests.guards.answer_entries import answer_rows
from tests.guards.clock_entries import RULE
from tests.guards.condition_entries import condition_rows
from tests.guards.letter_entries import worded
from tests.guards.porthole_entries import porthole_rows
from tests.guards.quote_entries import quote_rows
from tests.guards.rights_constraints import asked
from tests.guards.world import World
from tests.orders.made import ordered
from tests.photographs import PDF, SPOT, encoded, form
from tests.safety.made import noted
from tests.walk import Walk, ok


@pytest.fixture(scope="module")
def stage(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[House, dict[str, Api]]]:
    """A workshop that is made once for a file: each of its tests is rolled back to this."""
    with django_db_blocker.unblock(), transaction.atomic():
        people = staffed()
        yield housed(people), clients(people)
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def world_of_the_file(stage: tuple[House, dict[str, Api]]) -> World:
    """One row of everything that an address may name."""
    return World(*stage)


@pytest.fixture
def world(world_of_the_file: World, db: None) -> World:
    """The world, whatever the test before did to it."""
    return world_of_the_file


@pytest.fixture(scope="module")
def walk_of_the_file(stage: tuple[House, dict[str, Api]]) -> Walk:
    """A job that went the whole way."""
    return gone_the_whole_way(*stage)


@pytest.fixture
def walk(walk_of_the_file: Walk, db: None) -> Walk:
    """The job, whatever the test before did to it."""
    return walk_of_the_file


def gone_the_whole_way(house: House, api: dict[str, Api]) -> Walk:
    """A job that went the whole way, the letter a year later, and the same item here again."""
    walk = Walk(house, api).to("handed_back")
    due = walk.item.clocks.get().due
    assert due is not None
    assert remind(on=due) == 1
    line = {"item": str(walk.item.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    given = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    ok(api["counter"].post("drop-offs", given), 201)
    lead, bad = house.people["lead"], house.plans["second_stage"]
    cause = {"what": "creep", "side": "above", "kind": "", "part": "Seat", "words": "Worn.", "source": SOURCE}
    add_advice(by=lead, **cause)
    worded(lead)
    copy_plan(by=lead, plan=bad)
    withdraw_plan(by=lead, plan=bad, reason="A limit in it is wrong.")
    attempt = Attempt.objects.order_by("-pk")[0]
    raised = {"attempt": str(attempt.uid), "why": "The gauge stuck."}
    doubt = ok(api["technician"].post("doubts", raised), 201)
    answer = {"became": "stands", "words": "Measured again: as it was."}
    ok(api["lead"].post(f"affected/{doubt['affected'][0]['uid']}/answer", answer), 201)
    path = f"items/{walk.item.uid}/photographs"
    shown = ok(api["counter"].post(path, form(encoded()), format="multipart"), 201)
    ok(api["counter"].post(f"photographs/{shown['uid']}/spots", SPOT), 201)
    wrench = walk.house.instruments["torque wrench"].calibrations.get()
    keep_certificate(by=lead, calibration=wrench, document=PDF)
    notice, match = noted(house)
    answer_match(by=lead, match=match, became="told", words="By telephone.")
    withdraw_notice(by=lead, notice=notice, reason="It was issued in error.")
    propose(by=lead, **RULE)
    tally(by=walk.house.people["counter"], item=walk.item, unit="dives", total=12, day=date(2021, 1, 1))
    _gone_round(walk)
    _billed(walk)
    _brought_in(walk)
    answer_rows(house)
    newest = Job.objects.order_by("-pk")[0].drop_off
    porthole_rows(lead, newest)
    quote_rows(lead, newest)
    write_terms(by=lead, text="We keep gear for six months.", seen=0)
    accept_terms(by=lead, drop_off=walk.row.drop_off, terms=1, how="on screen", name="Maja Lindqvist")
    condition_rows(lead, Job.objects.order_by("-pk")[0].line)
    asked(walk)
    return walk


def _billed(walk: Walk) -> None:
    """The price of a plan with a discount, a bill that was countered, a mark that was taken back."""
    house, rows = walk.house, charged(walk.house, walk.api)
    counter = house.people["counter"]
    counter_bill(by=counter, bill=rows["bill"], reason="A trial.")
    take_back_payment(by=counter, payment=rows["payment"], reason="A trial.")
    given = {"job": rows["priced_job"], "plan": house.plans["first_stage"], "payer": "customer"}
    price_plan(by=counter, **given)


def _brought_in(walk: Walk) -> None:
    """A file that waits, and a customer whom another one brought in."""
    given: dict[str, Any] = {"by": walk.house.people["lead"], "what": "customers"}
    upload(name="waiting.csv", raw=b"Name\nBo Merrow\n", **given)
    made = add_customer(
        by=walk.house.people["counter"], kind="person", name="Ada Merrow", email="", phone="", reminders=False
    )
    batch = upload(name="in.csv", raw=b"Id,Name\n7,Ada Merrow\n", **given)
    Upload.objects.filter(batch=batch).delete()
    Brought.objects.create(batch=batch, what="customers", line=2, old_key="7", customer=made)


def _gone_round(walk: Walk) -> None:
    """What a longer life of the two jobs leaves: a takeover, a clock taken back, holds, asking and a disposal."""
    lead, technician = walk.house.people["lead"], walk.house.people["technician"]
    told: dict[str, Any] = {"at": now(), "by": lead}
    gauge = walk.house.instruments["low-pressure gauge"]
    check(by=lead, instrument=gauge, done_on=today(), against="MG-2", deviation="0", found="good")
    BadPeriod.objects.create(
        instrument=gauge, from_day="2020-01-01", to_day="2020-02-01", why="Found bad.", at=now()
    )
    again = Job.objects.order_by("-pk")[0]
    Takeover.objects.create(
        job=again, leg="stripping", was=technician, now_with=lead, condition="Ports open.", **told
    )
    TakenBack.objects.create(restart=Restart.objects.order_by("-pk")[0], at=now(), by=str(lead.uid))
    Asked.objects.create(drop_off=again.drop_off, how="telephone", on=today(), **told)
    Disposal.objects.create(job=again, how="Scrapped.", **told)
    logging = Logging.objects.create(
        job=again, round=again.rounds.all()[0], key="intermediate_pressure", phase="as received", backs=0,
        columns="t_s,p_bar", **told,
    )  # fmt: skip
    Chunk.objects.create(logging=logging, n=1, lines=b"0,9.5\n", samples=1, size=6, last_s=0.0, at=now())
    days = {"out_on": today(), "until": "2199-01-01"}
    Loan.objects.create(item=walk.item, borrower=walk.house.customer, by=lead, **days)
    keep_as_evidence(
        by=lead, item=walk.item, why="An accident.", giver="the police", where="here", holder="the cupboard",
        reference="case 7", found="Its valve is open.",
    )  # fmt: skip
    suppress(address="gone@achterberg.example", why="550 5.1.1 unknown", by="system")
    Hold.objects.create(job=again, kind="parts", why="Seats.", cause="a cause", **told)
    gear_set = GearSet.objects.create(name="Her set", owner=walk.item.owner)
    Member.objects.create(gear_set=gear_set, item=walk.item, from_day=today())
    lots = walk.house.lots
    Alternative.objects.create(
        part=lots["TH-401"].part, other=lots["TH-402"].part, condition="Older gear.", source="A bulletin.",
        supersedes=True,
    )  # fmt: skip
    SiteLevel.objects.create(part=lots["TH-401"].part, site="Workshop", minimum=1, up_to=9)
    Content.objects.create(kit=lots["TH-401"].part, part=lots["TH-402"].part, count=2)
    count = begin_count(by=walk.house.people["storekeeper"], bin=lots["TH-401"].stored.all()[0].bin)
    enter(by=walk.house.people["storekeeper"], count=count, lot=lots["TH-401"], counted=0, alone=False)
    Receipt.objects.create(line=ordered(walk.house).line, movement=Movement.objects.order_by("pk")[0])
