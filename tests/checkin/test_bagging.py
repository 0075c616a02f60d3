"""Bag and tag first, itemise later; many at once; who brings, pays and collects."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from jobs.flow.models import Custody, DropOff, Job, Line
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.gear.models import Identifier, Item
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import Walk, ok

BAG = {"words": "a regulator in a green bag, hisses", "contents": "not looked at", "state": "part-stripped"}


@pytest.fixture
def drop_off(house: House, api: dict[str, Api]) -> dict[str, Any]:
    """One bag that nobody has itemised."""
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [BAG]}
    made: dict[str, Any] = ok(api["counter"].post("drop-offs", data), 201)
    return made


@pytest.fixture
def club(house: House) -> Customer:
    """The customer who pays."""
    return add_customer(
        by=house.people["counter"], kind="organisation", name="Aldermouth Evening Divers", email="",
        phone="", reminders=False,
    )  # fmt: skip


def test_it_works(house: House, api: dict[str, Api], drop_off: dict[str, Any]) -> None:
    (line,) = drop_off["lines"]
    assert (line["tag"], line["item"], line["job"], line["state"]) == (
        "C-0001-1",
        None,
        None,
        "part-stripped",
    )
    assert Custody.objects.get().holder == "the workshop"

    item = house.item()
    given = {"item": str(item.uid), "plan": str(house.plans["first_stage"].uid)}
    itemised = ok(api["counter"].post(f"lines/{line['uid']}/item", given))

    job = Job.objects.get()
    assert (itemised["item"], itemised["job"]) == (str(item.uid), str(job.uid))
    assert (job.leg, job.line.words) == ("checked_in", "a regulator in a green bag, hisses")
    assert [clock.due for clock in item.clocks.all()] == [None]


def test_it_itemises_a_line_once(house: House, api: dict[str, Api], drop_off: dict[str, Any]) -> None:
    path = f"lines/{drop_off['lines'][0]['uid']}/item"
    given = {"item": str(house.item().uid), "plan": str(house.plans["first_stage"].uid)}
    ok(api["counter"].post(path, given))
    other = {"item": str(house.item(serial="TH-2").uid), "plan": str(house.plans["first_stage"].uid)}

    with nothing_changes():
        assert codes(api["counter"].post(path, other)) == ["itemised"]


def test_it_is_not_cleared_before_somebody_looked_inside(
    house: House, api: dict[str, Api], drop_off: dict[str, Any]
) -> None:
    given = {"item": str(house.item().uid), "plan": str(house.plans["first_stage"].uid)}
    ok(api["counter"].post(f"lines/{drop_off['lines'][0]['uid']}/item", given))
    paid = {"amount": "200.00", "given_by": "Maja Lindqvist", "how": "in person"}
    ok(api["counter"].post(f"drop-offs/{drop_off['uid']}/go-aheads", paid), 201)
    job = Job.objects.get()

    with nothing_changes():
        refused = api["counter"].post(f"jobs/{job.uid}/moves", {"to": "cleared"}, seen=job.version)
    assert codes(refused) == ["contents-unknown"]

    noted = {"contents": "under pressure", "gas": "air", "pressure": "40", "pressure_unit": "bar"}
    ok(api["technician"].post(f"jobs/{job.uid}/contents", noted))
    ok(api["counter"].post(f"jobs/{job.uid}/moves", {"to": "cleared"}, seen=job.version))
    assert Line.objects.get().pressure == "40"
    with nothing_changes():
        again = api["technician"].post(f"jobs/{job.uid}/contents", noted)
    assert codes(again) == ["noted-before", "too-late"]


def test_it_refuses_a_pressure_without_a_unit(house: House, api: dict[str, Api]) -> None:
    data = {
        "customer": str(house.customer.uid),
        "promised_on": "2199-01-01",
        "lines": [BAG | {"pressure": "40"}],
    }

    with nothing_changes():
        assert pointers(api["counter"].post("drop-offs", data)) == ["/lines/0/pressure_unit"]


def test_it_adds_lines_to_a_drop_off(house: House, api: dict[str, Api], drop_off: dict[str, Any]) -> None:
    path = f"drop-offs/{drop_off['uid']}/lines"

    more = ok(api["counter"].post(path, {"lines": [BAG, BAG]}, seen=1), 201)

    assert [line["tag"] for line in more["lines"]] == ["C-0001-1", "C-0001-2", "C-0001-3"]
    with nothing_changes():
        assert api["counter"].post(path, {"lines": [BAG]}, seen=1).status_code == 412


def test_it_checks_in_sixty_of_one_model(house: House, api: dict[str, Api], drop_off: dict[str, Any]) -> None:
    marks = [{"owners_mark": f"AFS {n}", "serial": ""} for n in range(1, 61)]
    same = {"model": str(house.models["second_stage"].uid), "plan": str(house.plans["second_stage"].uid)}
    same |= {"contents": "no gas"}

    made = ok(api["counter"].post(f"drop-offs/{drop_off['uid']}/many", same | {"marks": marks}, seen=1), 201)

    assert len(made["lines"]) == 61
    assert Job.objects.filter(leg="checked_in").count() == 60
    assert Item.objects.count() == 60
    assert Identifier.objects.filter(kind="serial", state="unreadable").count() == 60
    assert Identifier.objects.filter(kind="owner's mark").order_by("pk")[59].value == "AFS 60"


def test_it_adds_none_of_many_when_a_mark_stands_twice(
    house: House, api: dict[str, Api], drop_off: dict[str, Any]
) -> None:
    marks = [{"owners_mark": "AFS 1"}, {"owners_mark": "AFS 2"}, {"owners_mark": "AFS 1"}]
    same = {"model": str(house.models["second_stage"].uid), "plan": str(house.plans["second_stage"].uid)}

    with nothing_changes():
        answer = api["counter"].post(f"drop-offs/{drop_off['uid']}/many", same | {"marks": marks}, seen=1)

    assert codes(answer) == ["mark-twice"]


def test_it_adds_many_on_the_page_one_a_line(
    house: House, pages: dict[str, Any], drop_off: dict[str, Any]
) -> None:
    typed = {"model": str(house.models["second_stage"].uid), "plan": str(house.plans["second_stage"].uid)}
    typed |= {"contents": "no gas", "state": "whole", "taint": "none known", "seen": "1"}
    typed |= {"marks": "AFS 1, S-1\n\nAFS 2\n, S-3\n"}

    answer = pages["counter"].post(f"/drop-offs/{drop_off['uid']}/many", typed)

    assert answer.status_code == 302
    marks = [(mark.kind, mark.value) for mark in Identifier.objects.order_by("pk")]
    assert marks == [
        ("serial", "S-1"), ("owner's mark", "AFS 1"), ("serial", ""), ("owner's mark", "AFS 2"), ("serial", "S-3"),
    ]  # fmt: skip


def test_it_names_who_brings_pays_and_collects(
    house: House, api: dict[str, Api], pages: dict[str, Any], club: Customer
) -> None:
    path = f"/customers/{house.customer.uid}/check-in"
    typed = {"promised_on": "2199-01-01", "payer": "k-2", "lines[0]words": "a bag"}
    with nothing_changes():
        page = pages["counter"].post(path, typed | {"bringer": "K-0099"})
    assert "No customer has this number or name." in said(page, 400)

    assert pages["counter"].post(path, typed | {"collector": club.name[:-2].upper()}).status_code == 302

    row = DropOff.objects.get()
    assert (row.bringer, row.payer, row.collector) == (None, club, club)


def test_it_names_those_whom_a_name_may_mean(house: House, pages: dict[str, Any], club: Customer) -> None:
    other = add_customer(
        by=house.people["counter"], kind="organisation", name=f"{club.name} North", email="", phone="",
        reminders=False,
    )  # fmt: skip
    path = f"/customers/{house.customer.uid}/check-in"
    typed = {"promised_on": "2199-01-01", "payer": club.name, "lines[0]words": "a bag"}

    with nothing_changes():
        page = said(pages["counter"].post(path, typed), 400)

    assert f"{club.label} {club.name}; {other.label} {other.name}. Give the number." in page


def test_it_takes_no_service_of_what_was_condemned(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    item, plan = house.item(), str(house.plans["first_stage"].uid)
    line = {"item": str(item.uid), "plan": plan, "contents": "no gas"}
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    made = ok(api["counter"].post("drop-offs", data), 201)
    signed = {"outcome": "condemned", "words": "A crack at the neck.", "secret": "signed with a pencil"}
    ok(api["technician"].post(f"jobs/{made['lines'][0]['job']}/sign-offs", signed, seen=1), 201)
    away = {"collector": "Maja Lindqvist", "items": [item.label], "acknowledged": True}
    ok(api["counter"].post(f"drop-offs/{made['uid']}/hand-backs", away, seen=1), 201)

    with nothing_changes():
        answer = api["counter"].post("drop-offs", data)

    assert codes(answer) == ["condemned"]
    page = send(pages["counter"], f"/customers/{house.customer.uid}/check-in", {
        "promised_on": "2199-01-01", "lines[0]item": str(item.uid), "lines[0]plan": plan,
    })  # fmt: skip
    assert "was condemned here; it takes no further service." in said(page)


def test_it_stands_on_the_counter_and_on_the_customers_page_until_it_is_gone(
    house: House, api: dict[str, Api], pages: dict[str, Client], drop_off: dict[str, Any]
) -> None:
    counter, theirs = "/counter", f"/customers/{house.customer.uid}"
    assert "a bag without a job" in said(pages["counter"].get(counter), 200)
    assert "a regulator in a green bag" in said(pages["counter"].get(theirs), 200)

    given = {"items": [drop_off["lines"][0]["tag"]], "collector": "Maja Lindqvist", "acknowledged": True}
    ok(api["counter"].post(f"drop-offs/{drop_off['uid']}/hand-backs", given, seen=1), 201)

    assert "C-0001" not in said(pages["counter"].get(counter), 200)
    assert "green bag" not in said(pages["counter"].get(theirs), 200)


def test_it_is_not_late_when_all_of_it_is_ready(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    walk = Walk(house, api).to("testing")
    Job.objects.update(promised_on=today() - timedelta(days=1))
    assert "late</span>" in said(pages["counter"].get("/counter"), 200)

    walk.steps("testing")
    walk.tests()
    ok(walk.sign(), 201)

    page = said(pages["counter"].get("/counter"), 200)
    assert "late</span>" not in page
    assert 'data-label="ready since"' in page
