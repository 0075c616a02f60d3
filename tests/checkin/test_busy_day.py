"""What a busy counter trips over: each page says what it needs and keeps what was chosen."""

from typing import Any

import pytest
from django.test import Client

from jobs.flow.models import DropOff, Job, Line
from shop.customers.actions import add_customer
from shop.gear.models import GearSet
from shop.sets.actions import make_set
from tests.conftest import Api, House
from tests.rows import nothing_changes, said, send
from tests.walk import Walk, ok


def sent(house: House, **line: str) -> dict[str, str]:
    """A check-in of one line as the page sends it."""
    return {"promised_on": "2199-01-01", **{f"lines[0]{name}": value for name, value in line.items()}}


@pytest.fixture
def counter(pages: dict[str, Client]) -> Client:
    return pages["counter"]


def test_it_works(house: House, counter: Client) -> None:
    page = said(counter.get(f"/customers/{house.customer.uid}/check-in"), 200)

    assert '<option value="not looked at" selected>' in page


def test_it_says_what_is_wrong_with_a_line(house: House, counter: Client) -> None:
    given = sent(house, words="a cylinder", contents="under pressure", pressure="12,55", pressure_unit="bar")

    with nothing_changes():
        page = said(send(counter, f"/customers/{house.customer.uid}/check-in", given), 400)

    assert "Not done" in page
    assert page.count("A number such as 40 or 12.5.") == 2, "in the list at the top and at the field"
    assert "<details open>" in page


def test_it_takes_a_comma_for_a_point(house: House, counter: Client) -> None:
    given = sent(house, words="a cylinder", contents="under pressure", pressure="12,5", pressure_unit="bar")

    assert send(counter, f"/customers/{house.customer.uid}/check-in", given).status_code == 302

    assert Line.objects.get().pressure == "12.5"


def test_it_offers_no_empty_choice_where_one_must_be_made(house: House, counter: Client) -> None:
    page = said(counter.get(f"/customers/{house.customer.uid}/check-in"), 200)

    for name in ("contents", "state", "taint"):
        select = page.partition(f'name="lines[0]{name}"')[2].partition("</select>")[0]
        assert "<option" in select
        assert 'value=""' not in select


def test_it_keeps_the_item_that_was_chosen_and_names_what_is_here_already(
    house: House, api: dict[str, Api], counter: Client
) -> None:
    walk = Walk(house, api)
    given = sent(house, item=str(walk.item.uid), plan=str(house.plans["first_stage"].uid), contents="no gas")

    page = said(send(counter, f"/customers/{house.customer.uid}/check-in", given), 409)

    assert f' value="{walk.item.uid}" selected>' in page
    assert f'<a href="/drop-offs/{walk.drop_off}">E-00001, C-0001</a>' in page


def test_it_checks_an_item_in_from_its_own_page(house: House, counter: Client) -> None:
    item = house.item()
    address = f"/customers/{house.customer.uid}/check-in?item={item.uid}"
    assert f'href="{address}"' in said(counter.get(f"/items/{item.uid}"), 200)

    page = said(counter.get(address), 200)

    assert f' value="{item.uid}" selected>' in page
    assert f' value="{house.plans["first_stage"].uid}" selected>' in page


def test_it_says_once_what_is_inside_of_a_whole_set(
    house: House, api: dict[str, Api], counter: Client
) -> None:
    walk = Walk(house, api)
    items = [walk.item, house.item(serial="TH-8"), house.item("second_stage", "TS-9")]
    chosen = make_set(by=house.people["counter"], owner=house.customer, name="regulator", items=items)
    address = f"/customers/{house.customer.uid}/check-in?set={chosen.uid}"

    page = said(counter.get(address), 200)

    assert page.count("as said above") == 3, (
        "two lines and the one that is added: the first item is here already"
    )
    assert f'<a href="/drop-offs/{walk.drop_off}">E-00001, C-0001</a>' in page
    given = {"promised_on": "2199-01-01", "inside": "no gas"}
    for i, item in enumerate(items[1:]):
        plan = house.plans[item.model.kind].uid
        given |= {f"lines[{i}]item": str(item.uid), f"lines[{i}]plan": str(plan)}
    given["lines[1]contents"] = "not looked at"
    assert send(counter, address, given).status_code == 302
    lines = Line.objects.exclude(item=walk.item).order_by("n")
    assert [line.contents for line in lines] == ["no gas", "not looked at"]


def test_it_takes_many_from_a_customer_who_brings_nothing_else(house: House, counter: Client) -> None:
    given = {
        "model": str(house.models["second_stage"].uid), "plan": str(house.plans["second_stage"].uid),
        "marks": "SEA 1\n\nSEA 2\nSEA 3", "contents": "no gas", "state": "whole", "taint": "none known",
        "promised_on": "2199-01-01",
    }  # fmt: skip

    answer = send(counter, f"/customers/{house.customer.uid}/many", given)

    drop_off = DropOff.objects.get()
    assert answer["Location"] == f"/drop-offs/{drop_off.uid}"
    assert (drop_off.lines.count(), Job.objects.count()) == (3, 3)
    with nothing_changes():
        long = given | {"marks": "SEA 4\n\n" + "x" * 81}
        page = said(send(counter, f"/customers/{house.customer.uid}/many", long), 400)
        assert "Item 2: a mark has at most 80 signs." in page


def test_it_shows_how_every_line_came(house: House, counter: Client) -> None:
    item = house.item()
    given = sent(
        house, item=str(item.uid), plan=str(house.plans["first_stage"].uid), contents="under pressure", gas="air",
        pressure="40", pressure_unit="bar", taint="flood water", state="part-stripped", accessories="bag of parts",
    )  # fmt: skip

    page = said(
        counter.get(send(counter, f"/customers/{house.customer.uid}/check-in", given)["Location"]), 200
    )

    for words in (
        "clean apart: flood water",
        "It came part-stripped.",
        "With it: bag of parts.",
        "Read 40 bar of air.",
    ):
        assert words in page


def test_it_asks_to_collect_what_is_ready_beside_a_bag(
    house: House, api: dict[str, Api], counter: Client
) -> None:
    walk = Walk(house, api)
    row = walk.row.drop_off
    bag = {"lines": [{"words": "a mask"}]}
    ok(api["counter"].post(f"drop-offs/{row.uid}/lines", bag, seen=row.version), 201)
    assert f"/drop-offs/{row.uid}/ask" not in said(counter.get(f"/drop-offs/{row.uid}"), 200)

    closed: dict[str, Any] = {
        "outcome": "declined",
        "words": "Too dear.",
        "second": None,
        "second_secret": "",
    }
    ok(walk.sign(**closed), 201)

    assert f"/drop-offs/{row.uid}/ask" in said(counter.get(f"/drop-offs/{row.uid}"), 200)
    ready = said(counter.get(f"/drop-offs/{row.uid}/hand-back"), 200)
    assert "C-0001-2" in ready
    assert "a mask" in ready


def test_it_names_the_agreed_collector(house: House, api: dict[str, Api], counter: Client) -> None:
    given: dict[str, Any] = {"kind": "person", "email": "", "phone": "", "reminders": False}
    other = add_customer(by=house.people["counter"], name="Cleo Tidewater", **given)
    walk = Walk(house, api)
    DropOff.objects.update(collector=other)

    page = said(counter.get(f"/drop-offs/{walk.drop_off}/hand-back"), 200)

    assert 'value="Cleo Tidewater"' in page


def test_it_makes_a_set_of_several_items(house: House, counter: Client) -> None:
    items = [house.item(serial="TH-1"), house.item("second_stage", serial="TH-2")]
    path = f"/customers/{house.customer.uid}/sets/new"
    assert said(counter.get(path), 200).count('type="checkbox" name="items"') == 2

    send(counter, path, {"name": "Her set", "items": [str(item.uid) for item in items]})

    assert [item.label for item in GearSet.objects.get().present] == ["E-00001", "E-00002"]


def test_it_tells_of_an_equal_serial_and_of_somebody_reached_the_same_way(
    house: House, counter: Client
) -> None:
    house.item(serial="TH-1")
    given = {"model": str(house.models["first_stage"].uid), "serial": "TH-1", "owners_mark": ""}

    answer = send(counter, f"/customers/{house.customer.uid}/items/new", given)

    assert answer["Location"].startswith("/items/")
    again = {"kind": "person", "name": "Maja L.", "email": "", "phone": house.customer.phone}
    page = said(counter.get(send(counter, "/customers/new", again)["Location"]), 200)
    assert "reached the same way" in page
    assert "K-0001" in page
