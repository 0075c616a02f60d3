"""What each method of each address of clocks, their rules and what is due needs."""

from datetime import date
from typing import Any

from django.db import transaction

from shop.clocks.actions import decide, done_elsewhere, set_going
from shop.clocks.rules import Decision
from shop.due.actions import renew_address
from shop.due.reads import secret
from shop.gear.models import Item
from shop.intervals.actions import propose
from shop.staff.rules import Can
from shop.workshop.models import Workshop
from tests.conftest import House
from tests.guards.bodies import SEE, Entry
from tests.photographs import PDF

RULE: dict[str, Any] = {
    "title": "Overhaul",
    "clock": "overhaul",
    "document": "Tarnwell service manual",
    "source": "The manual.",
    "status": "the maker's",
    "months": 12,
    "anchor": "last done",
}
ELSEWHERE = {"day": "2021-01-01", "elsewhere": "Quay Divers", "document": "@@document"}
TALLY = {"unit": "dives", "total": 12, "day": "2021-01-01"}
FACTS = {"specification": "3AL", "material": "steel"}
GEAR, PLANS = Can.KEEP_GEAR, Can.KEEP_PLANS

CLOCKS_API: dict[str, dict[str, Entry]] = {
    "items/<uuid:uid>/facts": {"POST": Entry(GEAR, "item", body=FACTS)},
    "items/<uuid:uid>/standing": {"POST": Entry(GEAR, "item", body={"standing": "sold"})},
    "clocks": {"GET": SEE},
    "clocks/<uuid:uid>/elsewhere": {"POST": Entry(GEAR, "clock", body=ELSEWHERE)},
    "clocks/<uuid:uid>/elsewhere/take-back": {"POST": Entry(GEAR, "clock")},
    "items/<uuid:uid>/tallies": {"GET": Entry(Can.SEE, "item"), "POST": Entry(GEAR, "item", body=TALLY)},
    "intervals": {"GET": SEE, "POST": Entry(PLANS, body=RULE)},
    "intervals/shipped": {"POST": Entry(PLANS)},
    "intervals/<uuid:uid>": {"GET": Entry(Can.SEE, "rule")},
    "intervals/<uuid:uid>/replacement": {"POST": Entry(PLANS, "rule", body=RULE)},
    "intervals/<uuid:uid>/set-aside": {"POST": Entry(PLANS, "proposed_rule")},
    "intervals/<uuid:uid>/decisions": {
        "POST": Entry(PLANS, "proposed_rule", body={"decision": "put in force"})
    },
    "intervals/<uuid:uid>/would-move": {"GET": Entry(Can.SEE, "proposed_rule")},
    "due": {"GET": SEE},
    "due-calendar": {"GET": SEE},
    "due-calendar/renew": {"POST": Entry(Can.KEEP_PEOPLE)},
}
CLOCKS: dict[str, dict[str, Entry]] = {
    "items/<uuid:uid>/facts": {"GET": Entry(Can.SEE, "item"), "POST": Entry(GEAR, "item", body=FACTS)},
    "items/<uuid:uid>/standing": {
        "GET": Entry(Can.SEE, "item"),
        "POST": Entry(GEAR, "item", body={"standing": "sold"}),
    },
    "clocks/<uuid:uid>": {"GET": Entry(Can.SEE, "clock")},
    "clocks/<uuid:uid>/elsewhere": {
        "GET": Entry(Can.SEE, "clock"),
        "POST": Entry(GEAR, "clock", body=ELSEWHERE),
    },
    "clocks/<uuid:uid>/elsewhere/take-back": {
        "GET": Entry(Can.SEE, "clock"),
        "POST": Entry(GEAR, "clock"),
    },
    "items/<uuid:uid>/tallies/new": {
        "GET": Entry(Can.SEE, "item"),
        "POST": Entry(GEAR, "item", body=TALLY),
    },
    "office/intervals": {"GET": SEE},
    "office/intervals/new": {"GET": SEE, "POST": Entry(PLANS, body=RULE)},
    "office/intervals/shipped": {"GET": SEE, "POST": Entry(PLANS)},
    "office/intervals/<uuid:uid>/change": {
        "GET": Entry(Can.SEE, "rule"),
        "POST": Entry(PLANS, "rule", body=RULE),
    },
    "office/intervals/<uuid:uid>/set-aside": {
        "GET": Entry(Can.SEE, "proposed_rule"),
        "POST": Entry(PLANS, "proposed_rule"),
    },
    "office/intervals/<uuid:uid>/force": {
        "GET": Entry(Can.SEE, "proposed_rule"),
        "POST": Entry(PLANS, "proposed_rule"),
    },
    "office/intervals/<uuid:uid>/withdraw": {
        "GET": Entry(Can.SEE, "rule"),
        "POST": Entry(PLANS, "rule"),
    },
    "office/intervals/<uuid:uid>/follow": {
        "GET": Entry(Can.SEE, "proposed_rule"),
        "POST": Entry(PLANS, "proposed_rule"),
    },
    "office/intervals/<uuid:uid>/leave": {"GET": Entry(Can.SEE, "rule"), "POST": Entry(PLANS, "rule")},
    "due": {"GET": SEE},
    "office/calendar": {"GET": SEE},
    "office/calendar/renew": {"GET": SEE, "POST": Entry(Can.KEEP_PEOPLE)},
    "calendar/<slug:secret>.ics": {"GET": Entry(public=True, key=secret(1))},
}
# Constraints, each with its table and what its newest row is changed to.
CLOCK_CONSTRAINTS = [
    ("interval_status_known", "intervals_interval", {"status": "sure"}),
    ("interval_anchor_known", "intervals_interval", {"anchor": "sold"}),
    ("interval_kind_known", "intervals_interval", {"kind": "snorkel"}),
    ("interval_not_nought", "intervals_interval", {"months": 0}),
    ("item_standing_known", "gear_item", {"standing": "asleep"}),
    ("clock_unknown_or_due", "clocks_clock", {"unknown": True, "due": "2026-01-01"}),
]
# Likewise of rows that are written anew, for their table is append-only.
CLOCK_WRITTEN = [("tally_unit_known", "clocks_tally", {"unit": "weeks"})]


def rule_rows(house: House, item: Item) -> dict[str, Any]:
    """A rule that is proposed, one in force of a place that is followed, a clock that others satisfied, a calendar."""
    lead, counter = house.people["lead"], house.people["counter"]
    told: dict[str, Any] = RULE | {"kind": "bcd", "by": lead}
    proposed, rule = propose(place="Here", **told), propose(place="There", **told)
    for what in (Decision.FORCE, Decision.FOLLOW):
        rule = decide(by=lead, interval=rule, what=what, seen=rule.version)
    with transaction.atomic():
        clock = set_going(by=counter, item=item, key="service", title="Service", months=12)
    proof: dict[str, Any] = {"elsewhere": "Quay Divers", "photograph": None, "document": PDF}
    clock = done_elsewhere(by=counter, clock=clock, day=date(2020, 1, 1), **proof)
    renew_address(by=lead)
    Workshop.objects.update(version=1)  # what an entry without a row sends as the version it saw
    return {"proposed_rule": proposed, "rule": rule, "clock": clock}
