"""The store over both doors: parts, lots received, quantities taken."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.db import transaction

from shop.stock.actions import take
from shop.stock.models import Lot, Movement
from shop.workshop.reads import at
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import ok

PART = {"number": "TH-900", "name": "Plug", "unit": "piece"}


def test_it_works(house: House, api: dict[str, Api]) -> None:
    part = ok(api["storekeeper"].post("parts", PART | {"life_months": 84, "life_source": "a rule"}), 201)
    path = f"parts/{part['uid']}/lots"

    lot = ok(api["storekeeper"].post(path, {"number": "L-1", "cured": "2Q24", "quantity": 5}), 201)
    more = ok(api["storekeeper"].post(path, {"number": "L-1", "cured": "2q2024", "quantity": 7}), 201)
    left = ok(
        api["storekeeper"].post(f"lots/{lot['uid']}/movements", {"quantity": 2, "subject": "training"}), 201
    )

    assert (lot["good_to"], lot["on_hand"]) == ("2031-06-30", 5)
    assert (more["uid"], more["on_hand"], left["on_hand"]) == (lot["uid"], 12, 10)
    movements = Movement.objects.filter(lot__uid=lot["uid"]).order_by("pk")
    assert list(movements.values_list("verb", "quantity")) == [("receive", 5), ("receive", 7), ("take", -2)]


def test_it_lets_the_movements_of_every_lot_sum_to_what_is_on_hand(house: House, api: dict[str, Api]) -> None:
    ok(
        api["storekeeper"].post(
            f"lots/{house.lots['TH-302'].uid}/movements", {"quantity": 3, "subject": "x"}
        ),
        201,
    )

    for lot in Lot.objects.all():
        assert sum(lot.movements.values_list("quantity", flat=True)) == lot.on_hand


def test_it_refuses_a_life_without_its_rule(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    with nothing_changes():
        answer = api["storekeeper"].post("parts", PART | {"life_months": 84})
        page = send(pages["storekeeper"], "/store/parts/new", PART | {"life_months": "84"})

    assert sentences(answer) == ["Say by which rule this life is counted."]
    assert "Say by which rule this life is counted." in said(page)


def test_it_refuses_a_part_number_twice(house: House, api: dict[str, Api]) -> None:
    with nothing_changes():
        assert codes(api["storekeeper"].post("parts", PART | {"number": "TH-302"})) == ["number-taken"]


def test_it_refuses_a_quarter_that_is_none(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    part = house.lots["TH-302"].part
    data = {"number": "L-1", "cured": "summer", "quantity": 5}

    with nothing_changes():
        answer = api["storekeeper"].post(f"parts/{part.uid}/lots", data)
        page = send(pages["storekeeper"], f"/store/parts/{part.uid}/receive", data)

    assert sentences(answer) == ["Write the cure quarter as 2Q24 or 3/94."]
    assert "Write the cure quarter as 2Q24 or 3/94." in said(page)


def test_it_refuses_a_quarter_that_has_not_begun_and_an_empty_one_where_a_life_is_counted(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    part, said_so = house.lots["TH-302"].part, "The quarter 1Q2199 has not begun yet."
    data = {"number": "L-1", "cured": "1Q2199", "quantity": 5}

    with nothing_changes():
        assert sentences(api["storekeeper"].post(f"parts/{part.uid}/lots", data)) == [said_so]
        assert said_so in said(send(pages["storekeeper"], f"/store/parts/{part.uid}/receive", data))
        empty = api["storekeeper"].post(f"parts/{part.uid}/lots", data | {"cured": ""})
        assert sentences(empty) == ["Write the cure quarter as 2Q24 or 3/94."]


def test_it_takes_a_lot_without_a_quarter_where_no_life_is_counted(house: House, api: dict[str, Api]) -> None:
    part = house.lots["TH-301"].part

    lot = ok(api["storekeeper"].post(f"parts/{part.uid}/lots", {"number": "L-1", "quantity": 5}), 201)

    assert (lot["cured"], lot["good_to"], lot["on_hand"]) == ("", None, 5)


def test_it_refuses_a_lot_that_stands_with_another_quarter(house: House, api: dict[str, Api]) -> None:
    lot = house.lots["TH-302"]
    data = {"number": lot.number, "cured": "3Q26", "quantity": 5}

    with nothing_changes():
        answer = api["storekeeper"].post(f"parts/{lot.part.uid}/lots", data)

    assert sentences(answer) == ["Lot TH-302-A stands here with cure quarter 2Q26."]


def test_it_refuses_to_take_more_than_there_is_or_past_its_life(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    good, old = house.lots["TH-302"], house.lots["old"]
    much = {"quantity": 11, "subject": "training"}

    with nothing_changes():
        assert sentences(api["storekeeper"].post(f"lots/{good.uid}/movements", much)) == [
            "Lot TH-302-A has 10 pieces, less than the 11 pieces asked for."
        ]
        assert codes(api["storekeeper"].post(f"lots/{old.uid}/movements", much)) == [
            "past-life",
            "not-enough",
        ]
        page = send(pages["storekeeper"], f"/store/lots/{good.uid}/move", much)
    assert "Lot TH-302-A has 10 pieces, less than the 11 pieces asked for." in said(page)


@pytest.mark.parametrize("quantity", [0, -1, 1.5, "many", None, 100_001])
def test_it_refuses_a_quantity_that_is_none(house: House, api: dict[str, Api], quantity: Any) -> None:
    lot = house.lots["TH-302"]

    with nothing_changes():
        use = api["storekeeper"].post(f"lots/{lot.uid}/movements", {"quantity": quantity, "subject": "x"})
        data = {"number": "L-1", "cured": "2Q26", "quantity": quantity}
        receive = api["storekeeper"].post(f"parts/{lot.part.uid}/lots", data)

    assert (use.status_code, receive.status_code) == (409 if quantity == 0 else 400, 400)


def test_it_lets_a_lot_be_taken_on_its_last_day(house: House, api: dict[str, Api]) -> None:
    lot = house.lots["TH-302"]
    data = {"quantity": 1, "subject": "training"}
    assert lot.good_to == date(2033, 6, 30)

    # London keeps summer time: 23:00 UTC is the next day there.
    with at(datetime(2033, 6, 30, 23, 0, tzinfo=UTC)), nothing_changes():
        assert codes(api["storekeeper"].post(f"lots/{lot.uid}/movements", data)) == ["past-life"]
    with at(datetime(2033, 6, 30, 22, 59, tzinfo=UTC)):
        ok(api["storekeeper"].post(f"lots/{lot.uid}/movements", data), 201)


def test_it_takes_only_inside_a_transaction(transactional_db: None, house: House) -> None:
    given: dict[str, Any] = {"by": house.people["technician"], "lot": house.lots["TH-302"]}
    given |= {"quantity": 1, "subject": "x"}

    with pytest.raises(RuntimeError, match="transaction"):
        take(**given, wanted_part="")
    with transaction.atomic():
        assert take(**given, wanted_part="").quantity == -1


def test_it_moves_by_hand_and_a_count_sets_what_is_there(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    lot = house.lots["TH-302"]
    path = f"lots/{lot.uid}/movements"
    for verb, quantity in (("take", 4), ("return", 1), ("scrap", 2)):
        ok(api["storekeeper"].post(path, {"verb": verb, "quantity": quantity, "subject": "a trial"}), 201)
    send(
        pages["storekeeper"],
        f"/store/lots/{lot.uid}/move",
        {"verb": "count", "quantity": "3", "subject": "shelf"},
    )

    rows = [
        (row["verb"], row["quantity"], row["subject"]) for row in ok(api["technician"].get(path))["results"]
    ]
    assert rows == [
        ("count", -2, "count:shelf"),
        ("scrap", -2, "scrap:a trial"),
        ("return", 1, "return:a trial"),
        ("take", -4, "take:a trial"),
        ("receive", 10, ""),
    ]
    assert Lot.objects.get(pk=lot.pk).on_hand == 3


@pytest.mark.parametrize(
    ("verb", "quantity", "expected"),
    [
        ("take", 0, (409, "nothing")),
        ("return", 0, (409, "nothing")),
        ("scrap", 11, (409, "not-enough")),
        ("take", 11, (409, "not-enough")),
        ("steal", 1, (400, "invalid_choice")),
        ("count", -1, (400, "min_value")),
    ],
)
def test_it_refuses_what_cannot_be_moved_by_hand(
    house: House, api: dict[str, Api], verb: str, quantity: int, expected: tuple[int, str]
) -> None:
    with nothing_changes():
        data = {"verb": verb, "quantity": quantity, "subject": "a trial"}
        answer = api["storekeeper"].post(f"lots/{house.lots['TH-302'].uid}/movements", data)

    assert codes(answer, expected[0]) == [expected[1]]


def test_what_is_past_its_life_is_scrapped_counted_and_put_back_but_not_taken(
    house: House, api: dict[str, Api]
) -> None:
    path = f"lots/{house.lots['old'].uid}/movements"

    refused = api["storekeeper"].post(path, {"verb": "take", "quantity": 1, "subject": "a trial"})
    assert codes(refused) == ["past-life"]
    for verb, quantity in (("scrap", 4), ("return", 2), ("count", 0)):
        ok(api["storekeeper"].post(path, {"verb": verb, "quantity": quantity, "subject": "old"}), 201)
    assert Lot.objects.get(pk=house.lots["old"].pk).on_hand == 0
