"""What the store's lots cost on a day; every figure was reckoned by hand."""

import csv
import io
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from shop.stock.actions import move_by_hand, receive
from shop.stock.models import Part
from shop.stock.rules import effective_refusals, value_left
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.guards.conftest import stage as stage
from tests.rows import pointers, said


@pytest.mark.parametrize(
    ("receipts", "on_hand", "cost"),
    [
        ([(10, 1000)], 10, 1000),
        ([(10, 1000)], 3, 300),
        ([(10, 1000), (5, 1100)], 6, 840),  # 21.00 for 15 are 1.40 each
        ([(3, 1000)], 1, 333),
        ([(3, 1000)], 2, 667),
        ([(2, 1)], 1, 1),  # half a penny is rounded up
        ([(10, 0)], 4, 0),
        ([(10, 1000)], 12, 1200),  # a count found two more of the lot
        ([(10, 1000), (5, None)], 6, None),
        ([(10, None)], 6, None),
        ([], 6, None),
    ],
)
def test_what_is_left_of_a_lot_costs(
    receipts: list[tuple[int, int | None]], on_hand: int, cost: int | None
) -> None:
    assert value_left(receipts, on_hand) == cost


def test_from_which_day_a_movement_counts() -> None:
    day = date(2026, 11, 27)
    assert effective_refusals(None, day) == effective_refusals(day, day) == []
    assert [each.code for each in effective_refusals(date(2026, 11, 28), day)] == ["not-yet"]


@pytest.fixture
def house(stage: tuple[House, dict[str, Api]], db: None) -> House:
    """A lot of ten for 12.00 that came five days ago, of which three were taken since."""
    found = stage[0]
    by, part = found.people["storekeeper"], found.lots["TH-303"].part
    given: dict[str, Any] = {"quantity": 10, "cost": 1200, "effective_on": today() - timedelta(days=5)}
    lot = receive(by=by, part=part, number="=1+1", cured="2Q26", **given)
    move_by_hand(by=by, lot=lot, verb="take", quantity=3, subject="a trial")
    return found


def rows_of(api: Api, on: str = "") -> list[list[str]]:
    answer = api.client.get(
        "/api/v1/stock-value" + (f"?on={on}" if on else ""), headers={"Accept": "text/csv"}
    )
    assert answer.status_code == 200, answer.content
    return list(csv.reader(io.StringIO(answer.content.decode(), newline="")))


def test_the_file_of_today(stage: tuple[House, dict[str, Api]], house: House) -> None:
    rows = rows_of(stage[1]["counter"])

    day, name = today().isoformat(), Part.objects.get(number="TH-303").name
    assert rows[0] == ["day", "part", "name", "lot", "good to", "on hand", "unit", "cost GBP"]
    assert [day, "TH-303", name, "'=1+1", "2031-06-30", "7", "piece", "8.40"] in rows
    assert [day, "TH-303", name, "TH-303-A", "2031-06-30", "10", "piece", "not known"] in rows
    assert rows[-2:] == [
        [day, "all with a known cost", "", "", "", "1", "lots", "8.40"],
        [day, "all without", "", "", "", "6", "lots", "not known"],  # the six lots that every house has
    ]


def test_a_past_day_knows_what_counts_from_it(stage: tuple[House, dict[str, Api]], house: House) -> None:
    day = (today() - timedelta(days=5)).isoformat()

    assert [row[3:] for row in rows_of(stage[1]["counter"], day)[1:2]] == [
        ["'=1+1", "2031-06-30", "10", "piece", "12.00"]
    ]
    before = (today() - timedelta(days=6)).isoformat()
    assert [row[5] for row in rows_of(stage[1]["counter"], before)] == ["on hand", "0", "0"]


def test_a_day_to_come_is_refused(stage: tuple[House, dict[str, Api]], house: House) -> None:
    api, client = stage[1]["counter"], Client()
    client.force_login(stage[0].people["counter"])
    ahead = (today() + timedelta(days=1)).isoformat()

    for day in (ahead, "the last of March"):
        assert pointers(api.get(f"stock-value?on={day}")) == ["/on"]
        assert "cost not known" in said(client.get("/store/value", {"on": day}), 400)
        assert "cost not known" in said(client.get("/store/value.csv", {"on": day}), 400)
    assert "8.40 GBP" in said(client.get("/store/value"), 200)
