"""How clocks stand: running, stopped, ended, elsewhere, unknown; and what is taken back."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction

from jobs.reminders.reads import owed
from shop.catalogue.actions import issue_plan
from shop.clocks.actions import restart, set_going, take_back
from shop.clocks.models import Clock
from shop.clocks.reads import due_by
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.instruments.actions import say_who_tests_cylinders
from shop.workshop.reads import at, noon, today
from tests.conftest import Api, House
from tests.photographs import PDF, encoded, form, upload
from tests.plans import document
from tests.rows import codes, nothing_changes, said
from tests.walk import Walk, ok

DAY = date(2026, 1, 10)


def running(house: House, day: date | None = DAY) -> Clock:
    by, item = house.people["technician"], house.item()
    clock = set_going(by=by, item=item, key="overhaul", title="Overhaul", months=12)
    return restart(by=by, clock=clock, months=12, day=day, cause="a") if day else clock


def shown(api: dict[str, Api], clock: Clock) -> dict[str, Any]:
    (row,) = ok(api["counter"].get(f"clocks?item={clock.item.uid}"))["results"]
    return dict(row)


def stand(api: dict[str, Api], item: Item, standing: str) -> Any:
    seen = Item.objects.get(pk=item.pk).version
    return api["counter"].post(f"items/{item.uid}/standing", {"standing": standing}, seen=seen)


@pytest.mark.parametrize(
    ("standing", "state"),
    [("put away dry", "stopped"), ("sold", "ended"), ("lost", "ended"), ("condemned", "ended")],
)
def test_it_works(house: House, api: dict[str, Api], standing: str, state: str) -> None:
    """What is not in use is on no list and gets no letter; its days are kept."""
    clock = running(house)
    assert shown(api, clock)["state"] == "running"
    assert list(owed(date(2027, 1, 10)))

    ok(stand(api, clock.item, standing))

    row = shown(api, clock)
    assert (row["state"], row["due"]) == (state, "2027-01-10")
    assert list(due_by(date(2030, 1, 1))) == []
    assert list(owed(date(2027, 1, 10))) == []
    with nothing_changes():
        assert codes(stand(api, clock.item, standing)) == ["stands-so"]


def test_what_was_put_away_runs_again_as_it_comes_in(house: House, api: dict[str, Api]) -> None:
    clock = running(house)
    ok(stand(api, clock.item, "put away dry"))

    line = {"item": str(clock.item.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    visit = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    ok(api["counter"].post("drop-offs", visit), 201)

    assert Item.objects.get(pk=clock.item_id).standing == "in use"


def test_condemned_is_for_good_but_for_another_round(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(walk.sign(outcome="condemned", words="Cracked body."), 201)
    assert shown(api, walk.item.clocks.get())["state"] == "ended"
    with nothing_changes():
        assert codes(stand(api, walk.item, "in use")) == ["for-good"]

    ok(walk.move("testing", "The crack is in the paint.", "inspector"))

    assert Item.objects.get(pk=walk.item.pk).standing == "in use"


def test_our_own_gear_gets_no_letter_and_stands_on_the_list(house: House, api: dict[str, Api]) -> None:
    clock = running(house, today() - timedelta(days=400))
    Customer.objects.update(ours=True)

    assert list(owed(today())) == []
    (row,) = ok(api["counter"].get("due?within=overdue&whose=our own"))["results"]
    assert row["uid"] == str(clock.uid)
    assert ok(api["counter"].get("due?within=overdue&whose=customers'"))["results"] == []


def elsewhere(api: dict[str, Api], clock: Clock, **told: Any) -> Any:
    body = {"day": "2026-05-02", "elsewhere": "Quay Divers"} | told
    return api["counter"].post(f"clocks/{clock.uid}/elsewhere", body, format="multipart")


def test_the_page_says_that_one_proof_of_the_two_is_needed(house: House, pages: dict[str, Any]) -> None:
    page = said(pages["counter"].get(f"/clocks/{running(house).uid}/elsewhere"), 200)

    assert page.count("one of the two") == 2


def test_others_did_it_with_proof(house: House, api: dict[str, Api]) -> None:
    clock = running(house)

    row = ok(elsewhere(api, clock, document=upload(PDF)), 201)
    assert (row["state"], row["anchor"], row["due"]) == ("elsewhere", "2026-05-02", "2027-05-02")

    row = ok(api["counter"].post(f"clocks/{clock.uid}/elsewhere/take-back"))
    assert (row["state"], row["anchor"], row["due"]) == ("running", "2026-01-10", "2027-01-10")
    with nothing_changes():
        assert codes(api["counter"].post(f"clocks/{clock.uid}/elsewhere/take-back")) == ["nothing-elsewhere"]


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({}, ["no-proof"]),
        ({"day": "2199-01-01", "proof": True}, ["day-to-come"]),
        ({"day": "2026-01-10", "proof": True}, ["later-known"]),
        ({"day": "2199-01-01"}, ["day-to-come", "no-proof"]),
    ],
)
def test_it_refuses_what_others_did(
    house: House, api: dict[str, Api], told: dict[str, Any], code: list[str]
) -> None:
    clock, proof = running(house), told.pop("proof", False)
    given = told | (form(encoded()) if proof else {})
    given.pop("words", None)
    with nothing_changes():
        assert codes(elsewhere(api, clock, **given)) == code


def test_an_unknown_clock_counts_as_due_until_others_are_known_to_have_done_it(
    house: House, api: dict[str, Api]
) -> None:
    clock = running(house, None)
    assert shown(api, clock)["state"] == "unknown"

    ok(elsewhere(api, clock, document=upload(PDF)), 201)

    assert shown(api, clock)["due"] == "2027-05-02"


def test_the_first_period_counts_from_entry_into_service(house: House, api: dict[str, Api]) -> None:
    clock = running(house, None)
    facts = {"made_on": "2025-11-01", "in_service_on": "2026-02-28"}

    ok(api["counter"].post(f"items/{clock.item.uid}/facts", facts, seen=1))

    assert shown(api, clock)["due"] == "2027-02-28"
    with nothing_changes():
        wrong = facts | {"in_service_on": "2025-01-01"}
        assert api["counter"].post(f"items/{clock.item.uid}/facts", wrong, seen=2).status_code == 400


def test_taken_back_in_any_order_a_clock_counts_from_what_still_stands(house: House) -> None:
    """Of three restarts the second and then the third are taken back: the first counts, not the second."""
    clock, by = running(house), house.people["technician"]
    item = clock.item
    for cause, day in (("b", date(2026, 6, 1)), ("c", date(2026, 9, 1))):
        clock = restart(by=by, clock=clock, months=12, day=day, cause=cause)
    with transaction.atomic():
        take_back(by=by, item=item, cause="b")
        assert Clock.objects.get().due == date(2027, 9, 1)
        take_back(by=by, item=item, cause="c")
    assert (Clock.objects.get().anchor, Clock.objects.get().due) == (DAY, date(2027, 1, 10))


def test_a_clock_that_was_taken_back_whole_is_unknown_again(house: House) -> None:
    clock, by = running(house), house.people["technician"]
    take_back(by=by, item=clock.item, cause="a")
    row = Clock.objects.get()
    assert (row.anchor, row.due, row.unknown) == (None, None, True)


def test_a_pressure_test_restarts_its_clocks_from_its_own_day(house: House, api: dict[str, Api]) -> None:
    """And the visual inspection that is part of it; a job without one restarts its clock from the sign-off."""
    asked = document()
    asked["clock"]["also"] = [{"key": "visual", "title": "Visual inspection", "months": 6}]
    asked["tests"][-1]["pressure_test"] = True
    told: dict[str, Any] = {"by": house.people["lead"], "model": house.models["first_stage"]}
    house.plans["first_stage"] = issue_plan(key="pressed", document=asked, **told)
    say_who_tests_cylinders(by=house.people["lead"], tested_by="ourselves")
    before = today() - timedelta(days=3)
    with at(noon(before)):
        walk = Walk(house, api).to("testing")
        walk.tests()

    ok(walk.sign(), 201)

    found = {clock.key: (clock.anchor, clock.months) for clock in walk.item.clocks.all()}
    assert found == {"overhaul": (before, 12), "visual": (before, 6)}
