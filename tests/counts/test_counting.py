"""Counting a bin blind while others go on taking."""

import re
from typing import Any

import pytest

from shop.counts.rules import Counted, Standing, booking_refusals, counting_refusals, standing
from shop.journal.models import Entry
from shop.stock.models import Bin, Lot, Movement, Stored
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok

RIGHT, SHORT = Counted(10, 10, 1), Counted(8, 10, 1)


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        ([], Standing.OPEN),
        ([RIGHT], Standing.SETTLED),
        ([SHORT], Standing.AGAIN),
        ([SHORT, SHORT], Standing.SETTLED),
        ([SHORT, RIGHT], Standing.SETTLED),
    ],
)
def test_how_far_a_lot_is(lines: list[Counted], found: Standing) -> None:
    assert standing(lines) == found


@pytest.mark.parametrize(
    ("lines", "open_", "by", "alone", "found"),
    [
        ([], True, 1, False, []),
        ([], False, 1, False, ["count-closed"]),
        ([RIGHT], True, 2, False, ["counted-before"]),
        ([SHORT], True, 1, False, ["another-person"]),
        ([SHORT], True, 1, True, []),
        ([SHORT], True, 2, False, []),
        ([SHORT, SHORT], True, 3, False, ["counted-before"]),
    ],
)
def test_who_may_count_when(
    lines: list[Counted], open_: bool, by: int, alone: bool, found: list[str]
) -> None:
    assert [each.code for each in counting_refusals(lines, open=open_, by=by, alone=alone)] == found


@pytest.mark.parametrize(
    ("lines", "left", "open_", "found"),
    [
        ([RIGHT], 0, True, []),
        ([SHORT, SHORT], 2, True, []),
        ([SHORT, SHORT], 1, True, ["below-zero"]),
        ([SHORT], 10, True, ["not-counted"]),
        ([], 10, True, ["not-counted"]),
        ([RIGHT], 10, False, ["count-closed"]),
    ],
)
def test_what_may_be_booked(lines: list[Counted], left: int, open_: bool, found: list[str]) -> None:
    assert [each.code for each in booking_refusals({"L": lines}, {"L": left}, open=open_)] == found


@pytest.fixture
def shelf(house: House, api: dict[str, Api]) -> str:
    """A bin with ten of one lot and four of another."""
    uid = str(ok(api["storekeeper"].post("bins", {"site": "Workshop", "label": "A 3"}), 201)["uid"])
    for lot, quantity in ((house.lots["TH-302"], 10), (house.lots["TH-303"], 4)):
        moved(api, lot, "move", quantity, to=uid)
    return uid


def moved(api: dict[str, Api], lot: Lot, verb: str, quantity: int, **more: Any) -> None:
    data = {"verb": verb, "quantity": quantity, "subject": "a trial"} | more
    ok(api["storekeeper"].post(f"lots/{lot.uid}/movements", data), 201)


def number(api: dict[str, Api], who: str, count: str, lot: Lot, counted: int, **more: Any) -> Any:
    return api[who].post(f"counts/{count}/numbers", {"lot": str(lot.uid), "counted": counted} | more)


def begun(api: dict[str, Api], shelf: str, who: str = "technician") -> str:
    return str(ok(api[who].post(f"bins/{shelf}/counts"), 201)["uid"])


def test_it_works_while_others_take(house: House, api: dict[str, Api], shelf: str) -> None:
    """Two rings are missing; three are taken after the first number and one after the second."""
    ring, seat, stray = house.lots["TH-302"], house.lots["TH-303"], house.lots["TH-301"]
    count = begun(api, shelf)
    number(api, "technician", count, seat, 4)
    first = ok(number(api, "technician", count, ring, 8), 201)
    moved(api, ring, "take", 3, bin=shelf)
    ok(number(api, "inspector", count, ring, 5), 201)
    moved(api, ring, "take", 1, bin=shelf)
    number(api, "technician", count, stray, 1)
    shown = ok(number(api, "inspector", count, stray, 1), 201)

    done = ok(api["storekeeper"].post(f"counts/{count}/book", {"reason": "the year's end"}))

    assert [(row["standing"], row["counted"], row["difference"]) for row in first["rows"]] == [
        ("to be counted again", None, None),
        ("counted", 4, 0),
    ]
    assert [(row["part"], row["difference"]) for row in shown["rows"]] == [
        ("TH-301", 1), ("TH-302", -2), ("TH-303", 0),
    ]  # fmt: skip
    assert done["booked"] is True
    left = dict(Stored.objects.filter(bin__uid=shelf).values_list("lot", "on_hand"))
    assert left == {ring.pk: 4, seat.pk: 4, stray.pk: 1}
    for lot in Lot.objects.all():
        moves = sum(lot.movements.values_list("quantity", flat=True))
        assert moves == lot.on_hand == sum(lot.stored.values_list("on_hand", flat=True))
    booked = Movement.objects.filter(subject="count:the year's end").order_by("pk")
    assert list(booked.values_list("quantity", flat=True)) == [1, -2, 0]
    written = Entry.objects.filter(subject=f"bin:{shelf}").order_by("n").values_list("verb", flat=True)
    assert list(written) == ["added", "count begun", *["counted"] * 5, "count booked"]


def test_whoever_counts_alone_says_so(house: House, api: dict[str, Api], shelf: str) -> None:
    ring, count = house.lots["TH-302"], begun(api, shelf)
    ok(number(api, "technician", count, ring, 9), 201)

    with nothing_changes():
        assert codes(number(api, "technician", count, ring, 9)) == ["another-person"]
    sheet = ok(number(api, "technician", count, ring, 9, alone=True), 201)

    assert [row["alone"] for row in sheet["rows"]] == [True, False]


def test_a_bin_has_one_open_count(house: House, api: dict[str, Api], shelf: str) -> None:
    count = begun(api, shelf)

    assert begun(api, shelf, "storekeeper") == count
    ok(api["storekeeper"].post(f"counts/{count}/set-aside", {"reason": "a mistake"}))
    assert begun(api, shelf) != count


def test_it_refuses_what_cannot_be_booked(house: House, api: dict[str, Api], shelf: str) -> None:
    ring, seat, count = house.lots["TH-302"], house.lots["TH-303"], begun(api, shelf)
    path, why = f"counts/{count}/book", {"reason": "the year's end"}
    ok(number(api, "technician", count, seat, 0), 201)
    with nothing_changes():
        assert codes(api["storekeeper"].post(path, why)) == ["not-counted", "not-counted"]
        assert api["technician"].post(path, why).status_code == 403
    ok(number(api, "inspector", count, seat, 0), 201)
    ok(number(api, "technician", count, ring, 10), 201)
    moved(api, seat, "take", 1, bin=shelf)

    with nothing_changes():
        assert codes(api["storekeeper"].post(path, why)) == ["below-zero"]
        assert codes(number(api, "technician", count, ring, 9)) == ["counted-before"]
    ok(api["storekeeper"].post(f"counts/{count}/set-aside", why))
    with nothing_changes():
        assert codes(api["storekeeper"].post(path, why)) == ["count-closed"]
        assert codes(api["storekeeper"].post(f"counts/{count}/set-aside", why)) == ["count-closed"]
        assert codes(number(api, "technician", count, ring, 9)) == ["count-closed"]


def test_it_is_counted_and_booked_by_page(
    house: House, api: dict[str, Api], pages: dict[str, Any], shelf: str
) -> None:
    ring, seat = house.lots["TH-302"], house.lots["TH-303"]
    send(pages["technician"], f"/store/bins/{shelf}/count", {})
    sheet = f"/store/counts/{Bin.objects.get(uid=shelf).counts.get().uid}"
    blind = said(pages["technician"].get(sheet), 200)
    assert "2 lots left" in blind
    cells = re.findall(r'data-label="(?:counted|differs by)">(.*?)<', blind)
    assert cells == ["—"] * 4  # of neither lot how many should lie there

    send(pages["technician"], f"{sheet}/lot", {"lot": str(seat.uid), "counted": "4"})
    send(pages["technician"], f"{sheet}/lot", {"lot": str(ring.uid), "counted": "9"})
    send(pages["inspector"], f"{sheet}/lot", {"lot": str(ring.uid), "counted": "9"})
    send(pages["storekeeper"], f"{sheet}/book", {"reason": "the year's end"})

    assert "booked: the year's end" in said(pages["counter"].get(sheet), 200)
    assert Lot.objects.get(pk=ring.pk).on_hand == 9
