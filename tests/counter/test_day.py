"""The day at the counter, by page and by API."""

from datetime import timedelta
from typing import Any

from django.test import Client

from jobs.bookings.actions import book, set_days
from jobs.flow.models import DropOff, Job
from shop.workshop.reads import at, noon, today
from tests.conftest import Api, House
from tests.rows import said
from tests.walk import EVIDENCE, Walk, ok


def seen(api: dict[str, Api]) -> dict[str, Any]:
    """What the API tells: of each group the tickets or customers with what is next."""
    found = ok(api["counter"].get("counter-day"))
    return {
        name: [(row["ticket"], row["next"]) for row in group["rows"]]
        for name, group in found.items()
        if isinstance(group, dict) and name != "booked"
    }


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    with at(noon(today() - timedelta(days=40))):
        old = Walk(house, api).to("signed_off")
    late, now = Walk(house, api, "second_stage"), today()
    DropOff.objects.filter(uid=late.drop_off).update(promised_on=now - timedelta(days=1))
    Job.objects.filter(uid=late.job).update(promised_on=now - timedelta(days=1))
    bag = {"words": "a cylinder", "contents": "not looked at"}
    given = {"customer": str(house.customer.uid), "promised_on": now.isoformat(), "lines": [bag]}
    ok(api["counter"].post("drop-offs", given), 201)
    set_days(by=house.people["lead"], seen=1, a_day=4, horizon=60)

    assert seen(api) == {
        "late": [("C-0002", "Take the go-ahead.")],
        "promised": [("C-0003", "Say which item is in the bag.")],
        "ready": [],
        "uncollected": [("C-0001", "Ask them to collect.")],
        "later": [],
    }
    page = said(pages["counter"].get("/counter"), 200)
    assert f'href="/drop-offs/{late.drop_off}/go-ahead"' in page
    assert f'href="/drop-offs/{old.drop_off}/ask"' in page
    assert '<a class="id" href="tel:+441632960417">' in page
    assert "All of it ready for 28 days or longer." in page
    assert "kept as evidence" not in page

    ok(api["counter"].post(f"items/{late.row.item.uid}/evidence", EVIDENCE), 201)

    said_first = "Evidence is among it: leave that as it is, and ask the lead."
    assert seen(api)["late"] == [("C-0002", said_first)]
    page = said(pages["counter"].get("/counter"), 200)
    assert page.count("kept as evidence") == 1
    assert f'href="/drop-offs/{late.drop_off}/go-ahead"' not in page


def test_it_lists_who_is_booked_and_counts_who_came(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    set_days(by=house.people["lead"], seen=1, a_day=4, horizon=60)
    row = house.item()
    yesterday = today() - timedelta(days=1)
    with at(noon(yesterday)):
        book(by=house.people["counter"], customer=house.customer, day=today() + timedelta(days=1), items=[row], note="It hisses.")  # fmt: skip

    booked = ok(api["counter"].get("counter-day"))["booked"]
    page = said(pages["counter"].get("/counter"), 200)

    assert (booked["count"], booked["came"], len(booked["rows"])) == (1, 0, 1)
    assert f"/customers/{house.customer.uid}/check-in?booking=" in page
    Walk(house, api)
    assert ok(api["counter"].get("counter-day"))["booked"] == {"count": 0, "came": 1, "rows": []}


def test_it_keeps_what_is_ready_apart_from_what_nobody_collects(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    assert seen(api)["ready"] == [("C-0001", "Ask them to collect.")]

    ok(api["counter"].post(f"drop-offs/{walk.drop_off}/asked", {"how": "telephone"}), 201)
    row = ok(api["counter"].get("counter-day"))["ready"]["rows"][0]
    assert (row["name"], row["phone"], row["ready"]) == ("Maja Lindqvist", "+441632960417", 1)
    assert (row["next"], row["asked_on"]) == ("Hand it back when they come.", today().isoformat())


def test_it_says_what_to_do_where_nothing_is_here(house: House, pages: dict[str, Client]) -> None:
    page = said(pages["counter"].get("/counter"), 200)

    assert "No gear is here." in page
    assert "Find the customer above, then check the gear in." in page
