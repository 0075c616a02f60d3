"""The demo's present day: open jobs on every leg and hold, a bag, gear kept as evidence, a doubt, a safety notice, a booking, a bill."""

from datetime import timedelta
from uuid import uuid4

from django.db import transaction

from jobs.answers.actions import say_address, say_gone
from jobs.answers.rules import Said
from jobs.bills.actions import make_bill, mark_paid
from jobs.bookings.actions import book, set_days
from jobs.bookings.reads import offered
from jobs.checkin.actions import check_in
from jobs.demo import rules
from jobs.demo.management.commands import _bench as bench
from jobs.demo.management.commands._house import House
from jobs.estimates.actions import add_charge, ask_supplement
from jobs.evidence.actions import keep_as_evidence, pass_evidence_on
from jobs.flow.actions import hold
from jobs.flow.models import Job
from jobs.handback.actions import ask_to_collect
from jobs.matches.actions import answer_match
from jobs.notices.actions import raise_doubt
from jobs.safety.actions import go_on, make_notice
from shop.drafts.actions import copy_plan
from shop.gear.models import Item
from shop.links.actions import make_links
from shop.links.models import Link
from shop.links.rules import LinkFor, Wanted
from shop.money.actions import change_terms, set_rate
from shop.money.reads import terms
from shop.sets.actions import make_set
from shop.workshop.reads import at, noon

_SKERRYVANE = {"item__model__maker": "Skerryvane", "item__model__kind": "first_stage"}


def begun(house: House) -> None:
    """What is open today, in the order in which it came."""
    busy: set[int] = set()
    for each in sorted(rules.OPEN, key=lambda each: -each.days):
        item = next(
            item
            for gear, item in house.items
            if (gear.maker, gear.kind) == (each.maker, each.kind) and item.owner_id not in busy
        )
        busy.add(item.owner_id)
        _opened(house, item, each)
    _bagged(house)
    _accident(house)
    _kept_together(house)
    copy_plan(by=house.people["lead"], plan=house.plans[house.models["Tarnwell", "first_stage"].pk, "check"])
    _doubted(house)
    _noticed(house)
    _expected(house)
    _costs(house)


def _opened(house: House, item: Item, each: rules.Open) -> None:
    came = house.day - timedelta(days=each.days)
    with at(noon(came)):
        promised = max(came, house.day + timedelta(days=each.promised))
        (job,) = bench.dropped_off(house, [item], each.plan, promised, each.words)
        if each.days:  # what came today waits to be looked at
            bench.looked_at(house, job)
        if each.leg != "checked_in":
            bench.agreed(house, job.drop_off)
            bench.walked(house, job, each.leg, 40)
            bench.stepped(house, job, each.steps)
        if each.hold:
            hold(by=house.people["counter"], job=job, kind=each.hold, why=each.why)
    if each.leg == "signed_off" and each.days > 28:
        with at(noon(came + timedelta(days=10))):
            ask_to_collect(by=house.people["counter"], drop_off=job.drop_off, how="e-mail")


def _bagged(house: House) -> None:
    """Two lines that were bagged and tagged only, one of them under pressure."""
    lines = [
        {"words": "a regulator in a green bag", "condition": "wet, salt on it", "contents": "not looked at"},
        {"words": "cylinder, boot missing", "condition": "", "contents": "under pressure", "gas": "air",
         "pressure": "40", "pressure_unit": "bar"},
    ]  # fmt: skip
    promised = house.day + timedelta(days=7)
    check_in(by=house.people["counter"], customer=house.customers[1], promised_on=promised, lines=lines)


def _accident(house: House) -> None:
    """A visitor's regulator and gauge, brought by the police after an accident: sealed, and nobody opens them."""
    owner, police = house.customers[46], house.customers[rules.POLICE]
    made = [
        house.item(rules.Gear(46, kind, maker, f"PV-{n}"))
        for n, (kind, maker) in enumerate(
            [("first_stage", "Pellmoor"), ("second_stage", "Pellmoor"), ("submersible_gauge", "Brackwold")], 1
        )
    ]
    came = house.day - timedelta(days=12)
    with at(noon(came)):
        make_set(by=house.people["lead"], owner=owner, name="as the police brought it", items=made)
        lines = [
            {"item": item, "plan": house.plans[item.model_id, key], "words": "Sealed at the quay.",
             "condition": "sand, one hose cut", "contents": "not looked at"}
            for item, key in zip(made, ("check", "check", "service"), strict=True)
        ]  # fmt: skip
        check_in(
            by=house.people["counter"], customer=owner, bringer=police, promised_on=house.day, lines=lines
        )
        kept = [
            keep_as_evidence(
                by=house.people["counter"], item=item, why="From an accident at the quay.", seals=f"A-{n}",
                reference="Harbour police, reference 27", giver="harbour police, an officer",
                where="here", holder="evidence cupboard", found="As the officer sealed it: valve shut, gauge at 40 bar, sand in the hose.",
            )
            for n, item in enumerate(made, start=1107)
        ]  # fmt: skip
    with at(noon(came + timedelta(days=3))):
        pass_evidence_on(
            by=house.people["counter"], hold=kept[0], where="here", giver="evidence cupboard",
            holder="evidence cupboard", broken="A-1107", intact="A-1110", people="Sergeant Orla Finch",
            why="The officer cut it to photograph the marks, and put another one on.",
        )  # fmt: skip


def _kept_together(house: House) -> None:
    """Regulators of ten divers belong together."""
    for owner in range(10):
        items = [item for gear, item in house.items if gear.owner == owner and gear.kind in rules.REGULATOR]
        make_set(by=house.people["counter"], owner=house.customers[owner], name="regulator set", items=items)


def _doubted(house: House) -> None:
    """The low-pressure gauge fell, and nobody knows when: two months of its readings to yesterday are doubted."""
    raise_doubt(
        by=house.people["lead"], about="instrument", row=house.instruments["low-pressure gauge"],
        why="It was found to have fallen from the bench; its zero was off by 0.6 mbar. Set right since.",
        from_day=house.day - timedelta(days=60), to_day=house.day - timedelta(days=1),
    )  # fmt: skip
    assert Job.objects.filter(doubts__doubt__about="instrument").exists()


def _noticed(house: House) -> None:
    """An invented notice about gauges: some matches are answered, the others wait."""
    notice = make_notice(
        by=house.people["lead"], title="Gauges that stick near empty", source="Brackwold, invented bulletin 3",
        words="On some gauges the needle may rest above zero though the cylinder is empty. Compare with another gauge.",
        gear_models=[house.models["Brackwold", "submersible_gauge"]],
        ranges=["T00-SU000 to T20-SU999", "P*"], lots=[{"part": "TH-401", "lot": "B1 to B9"}],
    )  # fmt: skip
    go_on(notice.look)
    first, second = notice.matches.exclude(item=None).order_by("pk")[:2]
    said = "Compared at 50 and 200 bar with the workshop's gauge; the needle comes to rest on zero."
    answer_match(by=house.people["technician"], match=first, became="checked and fine", words=said)
    answer_match(
        by=house.people["counter"], match=second, became="told", words="By telephone; brings it in on Friday."
    )


def _expected(house: House) -> None:
    """Four drop-offs a day; one diver is booked, another answered the link of a letter."""
    by = house.people["counter"]
    set_days(by=house.people["lead"], seen=1, a_day=4, horizon=60)
    booked, answered = house.customers[20], house.customers[21]
    items = list(booked.items.order_by("number")[:2])
    day, _ = offered()[1]
    book(by=by, customer=booked, day=day, items=items, note="The second stage breathes wet.")
    with transaction.atomic():
        make_links(wanted=[Wanted(answered, LinkFor.ANSWER, uuid4())])
    link = Link.objects.order_by("-pk")[0]
    say_gone(link=link, item=answered.items.order_by("number")[0], said=Said.PUT_AWAY)
    say_address(link=link, email="new.address@divers.example")


def _costs(house: House) -> None:
    """Prices with an invented rate of tax in them; what is only likely, a supplement that waits, a bill with its payment."""
    lead, by, day = house.people["lead"], house.people["counter"], house.day
    set_rate(by=lead, name="demo rate", share=20_000, from_day=day - timedelta(days=1200))
    given = {"inclusive": True, "rounding": "per rate", "usual": "demo rate", "by_rule": "", "nudge_days": 3}
    change_terms(by=lead, seen=terms().version, **given)  # type: ignore[arg-type]  # one dict of several types
    (priced,) = Job.objects.filter(leg="checked_in", **_SKERRYVANE)
    hose = "Low-pressure hose, if it is as worn as it looks"
    add_charge(by=by, drop_off=priced.drop_off, job=priced, what=hose, amount=3200, likely=True)
    (found,) = Job.objects.filter(leg="stripping", **_SKERRYVANE)
    with at(noon(day - timedelta(days=4))):
        worn = "The thread of the yoke screw is worn: a new screw"
        ask_supplement(by=house.people["technician"], job=found, what=worn, amount=2800)
    (done,) = Job.objects.filter(leg="signed_off", item__model__maker="Pellmoor")
    bill = make_bill(by=by, drop_off=done.drop_off, payer="customer")
    mark_paid(by=by, drop_off=done.drop_off, kind="payment", amount=bill.total, way="card")
