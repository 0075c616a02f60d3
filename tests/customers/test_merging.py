"""Two customers who are one: merged by both doors, from either side at once, and read from then on under one name."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.journal.models import Entry
from shop.journal.reads import faults
from tests.conftest import Api, House
from tests.rows import codes, hidden, nothing_changes, pointers, said, send
from tests.threads import statuses, together
from tests.walk import Walk, ok


@pytest.fixture
def twin(house: House) -> Customer:
    """The customer once more, added by somebody who did not look."""
    given: dict[str, Any] = {"email": "m@lindqvist.example", "phone": "", "reminders": False}
    return add_customer(by=house.people["counter"], kind="person", name="M. Lindquist", **given)


def merge(api: Api, lose: Customer, into: Any, seen: int = 1) -> Any:
    return api.post(f"customers/{lose.uid}/merge", {"into": str(into)}, seen=seen)


def verbs(subject: str) -> list[str]:
    return list(Entry.objects.filter(subject=subject).order_by("n").values_list("verb", flat=True))


def test_it_works(house: House, api: dict[str, Api], twin: Customer) -> None:
    item = house.item()
    walk = Walk(house, api)

    kept = ok(merge(api["counter"], house.customer, twin.uid))

    assert (kept["uid"], kept["merged_into"], kept["version"]) == (str(twin.uid), None, 2)
    lost = ok(api["counter"].get(f"customers/{house.customer.uid}"))
    assert (lost["merged_into"], lost["version"]) == (str(twin.uid), 2)
    assert (lost["name"], lost["email"]) == ("Maja Lindqvist", "maja@lindqvist.example")
    assert ok(api["counter"].get(f"items/{item.uid}"))["owner"] == str(twin.uid)
    assert ok(api["counter"].get(f"drop-offs/{walk.drop_off}"))["customer"] == str(house.customer.uid)
    assert verbs(f"customer:{twin.uid}") == ["added", "took another in"]
    assert verbs(f"customer:{house.customer.uid}") == ["added", "merged into another"]
    assert verbs(f"item:{item.uid}") == ["added", "owner changed"]
    assert list(faults()) == []


@pytest.mark.parametrize(("keep", "lose", "then"), [
    ((True, False), (False, False), (False, False)),
    ((False, False), (True, False), (False, False)),
    ((True, False), (True, True), (True, True)),
    ((True, True), (True, False), (True, True)),
    ((True, False), (True, False), (True, False)),
])  # fmt: skip
def test_it_switches_no_reminder_on(
    house: House, api: dict[str, Api], twin: Customer, keep: Any, lose: Any, then: Any
) -> None:
    """What either name said of reminders and of fewer of them holds for both."""
    for row, (reminders, fewer) in ((house.customer, keep), (twin, lose)):
        Customer.objects.filter(pk=row.pk).update(reminders=reminders, fewer=fewer)
    kept = ok(merge(api["counter"], twin, house.customer.uid))

    assert (kept["reminders"], kept["fewer"]) == then


def test_it_is_done_on_the_page_by_number(house: House, pages: dict[str, Client], twin: Customer) -> None:
    path = f"/customers/{twin.uid}/merge"
    with nothing_changes():
        page = send(pages["counter"], path, {"into": " k-1 "})
    note, sure = page.context["form"].note, hidden(page, "sure")
    answer = send(pages["counter"], path, {"into": " k-1 ", "sure": sure})

    assert note.startswith(f"This one goes: K-0002 {twin.name}")
    assert (
        f"This one is kept: K-0001 {house.customer.name}, +44\N{NO-BREAK SPACE}1632\N{NO-BREAK SPACE}960417"
        in note
    )

    assert answer["Location"] == f"/customers/{house.customer.uid}"
    lost = said(pages["counter"].get(f"/customers/{twin.uid}"), 200)
    kept = said(pages["counter"].get(f"/customers/{house.customer.uid}"), 200)
    assert f'Merged into <a href="/customers/{house.customer.uid}">K-0001' in lost
    assert "Check in gear" not in lost
    assert "Change the customer" not in lost
    assert f'<a href="/customers/{twin.uid}">K-0002</a>' in kept


def test_it_shows_open_jobs_of_the_lost_one_with_the_kept(
    house: House, api: dict[str, Api], pages: dict[str, Client], twin: Customer
) -> None:
    walk = Walk(house, api)
    ok(merge(api["counter"], house.customer, twin.uid))

    assert f'href="/jobs/{walk.job}"' in said(pages["counter"].get(f"/customers/{twin.uid}"), 200)


def test_it_hides_the_lost_one_and_finds_the_kept(house: House, api: dict[str, Api], twin: Customer) -> None:
    ok(merge(api["counter"], twin, house.customer.uid))

    listed = ok(api["counter"].get("customers"))["results"]
    for asked in ("Lindquist", "K-0002", "m@lindqvist.example"):
        found = ok(api["counter"].get(f"find?q={asked}"))["results"]
        assert [row["number"] for row in found] == ["K-0001"], asked
    assert [row["number"] for row in listed] == ["K-0001"]


def test_it_leads_a_chain_to_its_last(house: House, api: dict[str, Api], twin: Customer) -> None:
    last = add_customer(
        by=house.people["counter"], kind="person", name="Maja L.", email="", phone="", reminders=False
    )

    ok(merge(api["counter"], house.customer, twin.uid))
    ok(merge(api["counter"], twin, last.uid, seen=2))

    assert Customer.objects.get(pk=house.customer.pk).merged_into == last
    assert Customer.objects.get(pk=twin.pk).merged_into == last


def test_it_is_done_with_nothing_more(house: House, api: dict[str, Api], twin: Customer) -> None:
    counter, item, uid = api["counter"], house.item(), str(twin.uid)
    ok(merge(counter, twin, house.customer.uid))
    line = {"item": str(item.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    visit = {"customer": uid, "promised_on": "2199-01-01", "lines": [line]}

    with nothing_changes():
        assert codes(counter.put(f"customers/{uid}", {"kind": "person", "name": "M."}, seen=2)) == ["merged"]
        assert codes(merge(counter, twin, house.customer.uid, seen=2)) == ["merged"]
        assert codes(merge(counter, house.customer, uid, seen=2)) == ["merged"]
        assert codes(counter.post("drop-offs", visit)) == ["merged"]
        assert codes(counter.post("items", {"model": str(item.model.uid), "owner": uid})) == ["merged"]
        assert codes(counter.post(f"items/{item.uid}/owner", {"owner": uid}, seen=1)) == ["merged"]


def test_it_is_refused(house: House, api: dict[str, Api], pages: dict[str, Client], twin: Customer) -> None:
    with nothing_changes():
        assert codes(merge(api["counter"], twin, twin.uid)) == ["itself"]
        assert codes(merge(api["counter"], twin, house.customer.uid, seen=7), 412) == []
        assert codes(merge(api["technician"], twin, house.customer.uid), 403) == []
        assert codes(merge(api["stranger"], twin, house.customer.uid), 401) == []
        assert codes(api["counter"].post(f"customers/{uuid4()}/merge", {"into": "K-0001"}, seen=1), 404) == []
        page = send(
            pages["counter"], f"/customers/{twin.uid}/merge", {"into": "K-0002", "sure": str(twin.uid)}
        )

    assert "not into itself" in said(page, 409)


@pytest.mark.parametrize(
    "into", ["", "K-0099", "E-0001", "K-", "K-1x", "\0", "K-" + "9" * 30, "x" * 5000, "K-²", "-1"]
)
def test_it_names_the_field_that_is_wrong(
    house: House, api: dict[str, Api], twin: Customer, into: str
) -> None:
    with nothing_changes():
        assert pointers(merge(api["counter"], twin, into)) == ["/into"]


@pytest.mark.parametrize("into", [None, True, 7, [], {}, ["K-0001"]])
def test_it_wants_a_text(house: House, api: dict[str, Api], twin: Customer, into: Any) -> None:
    with nothing_changes():
        answer = api["counter"].post(f"customers/{twin.uid}/merge", {"into": into}, seen=1)
        assert pointers(answer) == ["/into"]


def test_it_keeps_what_was_typed_when_it_is_stale(
    house: House, pages: dict[str, Client], twin: Customer
) -> None:
    path = f"/customers/{twin.uid}/merge"
    seen = hidden(pages["counter"].get(path), "seen")
    send(pages["counter"], f"/customers/{twin.uid}/change", {"kind": "person", "name": "M. L."})

    page = pages["counter"].post(
        path, {"seen": seen, "once": "k", "into": "K-0001", "sure": str(house.customer.uid)}
    )

    assert 'value="K-0001"' in said(page, 412)


@pytest.mark.usefixtures("real_database")
def test_it_merges_one_way_when_both_ways_are_asked_at_once(
    real_database: None, house: House, api: dict[str, Api], twin: Customer
) -> None:
    both = [house.customer, twin]

    def act(i: int) -> Any:
        return merge(Api(house.people["counter"]), both[i % 2], both[1 - i % 2].uid)

    answers = statuses(together(8, act))

    assert answers.pop(200) == 1
    assert set(answers) <= {409, 412}
    assert Customer.objects.filter(merged_into=None).count() == 1
    assert list(faults()) == []


@pytest.mark.usefixtures("real_database")
def test_it_leaves_no_item_behind_that_is_added_at_once(
    real_database: None, house: House, api: dict[str, Api], twin: Customer
) -> None:
    data = {"model": str(house.models["first_stage"].uid), "owner": str(twin.uid)}

    def act(i: int) -> Any:
        counter = Api(house.people["counter"])
        if i == 3:
            return merge(counter, twin, house.customer.uid)
        return counter.post("items", data | {"serial": f"N-{i}"})

    answers = statuses(together(7, act))

    assert answers.pop(200) == 1
    assert set(answers) <= {201, 409}
    assert twin.items.count() == 0
    assert house.customer.items.count() == answers.get(201, 0)
