"""What a part is counted in: said with every number, and kept once it has lots."""

from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from shop.stock.actions import add_content
from shop.stock.models import Lot, Part
from shop.stock.rules import unit_refusals
from shop.workshop.rules import counted_in, in_unit
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import ok

GREASE = {"number": "GR-1", "name": "Grease", "unit": "g"}


@pytest.mark.parametrize(
    ("count", "unit", "words"),
    [
        (0, "piece", "0 pieces"), (1, "piece", "1 piece"), (3, "piece", "3 pieces"), (11, "piece", "11 pieces"),
        ("+1", "piece", "+1 piece"), ("-1", "piece", "-1 piece"), ("-2", "piece", "-2 pieces"),
        ("1.0", "piece", "1.0 pieces"), (1, "g", "1 g"), (12, "g", "12 g"), ("0.4", "g", "0.4 g"), (5, "ml", "5 mL"),
    ],
)  # fmt: skip
def test_how_much_is_said(count: int | str, unit: str, words: str) -> None:
    assert in_unit(count, unit) == words


@pytest.mark.parametrize(("unit", "word"), [("piece", "pieces"), ("g", "g"), ("ml", "mL")])
def test_a_unit_by_itself(unit: str, word: str) -> None:
    assert counted_in(unit) == word


@pytest.mark.parametrize(
    ("unit", "asked", "counted", "found"),
    [
        ("g", None, True, []),
        ("g", "g", True, []),
        ("g", "ml", False, []),
        ("g", "ml", True, ["unit-kept"]),
        ("piece", "g", True, ["unit-kept"]),
    ],
)
def test_when_a_unit_may_change(unit: str, asked: str | None, counted: bool, found: list[str]) -> None:
    assert [each.code for each in unit_refusals(unit, asked, counted=counted)] == found


@pytest.fixture
def tube(house: House, api: dict[str, Api]) -> Lot:
    """A tube of 30 g."""
    part = ok(api["storekeeper"].post("parts", GREASE), 201)
    made = ok(api["storekeeper"].post(f"parts/{part['uid']}/lots", {"number": "T-7", "quantity": 30}), 201)
    assert (made["on_hand"], made["unit"]) == (30, "g")
    return Lot.objects.get(uid=made["uid"])


def test_it_works(tube: Lot, api: dict[str, Api], pages: dict[str, Any]) -> None:
    """An opened tube is nothing special: it is 30 g, then 28 g, and no page calls them pieces."""
    path = f"lots/{tube.uid}/movements"
    left = ok(api["storekeeper"].post(path, {"quantity": 2, "subject": "training"}), 201)
    assert (left["on_hand"], left["unit"]) == (28, "g")
    assert {row["unit"] for row in ok(api["counter"].get(path))["results"]} == {"g"}

    with nothing_changes():
        refused = api["storekeeper"].post(path, {"quantity": 29, "subject": "training"})
    assert sentences(refused) == ["Lot T-7 has 28 g, less than the 29 g asked for."]
    shown = said(pages["storekeeper"].get(f"/store/lots/{tube.uid}"), 200)
    assert "28 g" in shown
    assert "-2 g" in shown
    assert "+30 g" in shown
    assert "28 g" in said(pages["storekeeper"].get("/store/bins"), 200)
    for address in (
        f"lots/{tube.uid}/move",
        f"parts/{tube.part.uid}/receive",
        f"parts/{tube.part.uid}/change",
    ):
        form = pages["storekeeper"].get(f"/store/{address}").context["form"]
        assert {control.unit for control in form.fields} & {"g", "pieces"} == {"g"}, address


def test_a_unit_is_kept_once_there_are_lots(tube: Lot, api: dict[str, Api], pages: dict[str, Any]) -> None:
    path = f"parts/{tube.part.uid}"
    with nothing_changes():
        answer = api["storekeeper"].put(path, {"unit": "piece"}, 1)
        page = send(pages["storekeeper"], f"/store/{path}/change", {"unit": "ml", "seen": 1})
        assert api["storekeeper"].put(path, {"unit": "bar"}, 1).status_code == 400
    assert codes(answer) == ["unit-kept"]
    assert "It is counted in g, and that stays" in said(page)
    assert ok(api["storekeeper"].put(path, {"size": "30 g tube"}, 1))["unit"] == "g"


def test_a_unit_changes_until_then(house: House, api: dict[str, Api]) -> None:
    made = ok(api["storekeeper"].post("parts", GREASE), 201)
    path = f"parts/{made['uid']}"
    assert ok(api["storekeeper"].put(path, {"unit": "ml"}, 1))["unit"] == "ml"

    part = Part.objects.get(uid=made["uid"])
    kit = Part.objects.create(number="TH-K1", name="Kit", unit="piece")
    content = add_content(by=house.people["storekeeper"], kit=kit, part=part, count=3)
    assert str(content) == "3 mL of GR-1"
    with nothing_changes():
        assert codes(api["storekeeper"].put(path, {"unit": "g"}, 2)) == ["unit-kept"]


def test_the_database_keeps_it_too(tube: Lot) -> None:
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE stock_part SET unit = 'ml' WHERE number = 'GR-1'")
    with pytest.raises(IntegrityError), transaction.atomic():
        Part.objects.create(number="X", name="X", unit="bag")
