"""Parts that are scrapped, missing or lost, and where the part that goes back in is from."""

from typing import Any

import pytest

from jobs.tray.models import TrayPart
from shop.stock.models import Lot
from tests.conftest import SECRET, Api, House
from tests.rows import codes, nothing_changes
from tests.walk import Walk, ok


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A first stage that is apart."""
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    return walk


def end(walk: Walk, key: str, **given: Any) -> Any:
    return walk.api["technician"].post(f"jobs/{walk.job}/parts/{key}", given)


def lot(walk: Walk, number: str) -> str:
    return str(walk.house.lots[number].uid)


def test_it_works(walk: Walk) -> None:
    scrapped = {"ending": "scrapped", "words": "in the metal bin"}
    ok(end(walk, "seat", **scrapped, lot=lot(walk, "TH-303")), 201)

    row = TrayPart.objects.get()
    assert (row.ending, row.origin, row.words) == ("scrapped", "stock", "in the metal bin")
    assert Lot.objects.get(number="TH-303-A").on_hand == 9


def test_it_leaves_no_place_empty(walk: Walk) -> None:
    ok(end(walk, "pin", ending="missing on arrival"), 201)
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    for part in walk.row.plan.parts:
        if part.key != "pin":
            ok(walk.end(part.key), 201)
    with nothing_changes():
        assert codes(walk.move("rebuilding")) == ["place-empty"]
        assert codes(end(walk, "pin", ending="reused")) == ["ended-before"]

    own = {"origin": "customer's own", "words": "a pin that Maja Lindqvist brought"}
    own["words"] = "a pin from the customer's spares"
    ok(end(walk, "pin", ending="missing on arrival", **own), 201)

    assert [row.origin for row in TrayPart.objects.filter(key="pin").order_by("pk")] == [
        "nothing yet",
        "customer's own",
    ]
    with nothing_changes():
        assert codes(end(walk, "pin", ending="missing on arrival", **own)) == ["ended-before"]
    ok(walk.move("rebuilding"))


def test_it_takes_a_part_of_the_makers_programme(walk: Walk) -> None:
    with nothing_changes():
        assert codes(end(walk, "seat", ending="renewed", origin="maker's programme")) == ["words-missing"]
    ok(end(walk, "seat", ending="renewed", origin="maker's programme", words="TH-303, claim 118"), 201)

    assert TrayPart.objects.get().movement is None


def test_it_has_a_lost_part_searched_for_by_two(walk: Walk) -> None:
    lost = {"ending": "lost", "words": "bench, floor and drain"}
    ines, marek = (str(walk.house.people[role].uid) for role in ("technician", "inspector"))

    with nothing_changes():
        assert codes(end(walk, "pin", **lost)) == ["second-missing"]
        assert codes(end(walk, "pin", **lost, second=ines, second_secret=SECRET)) == ["second-missing"]
        assert codes(end(walk, "pin", **lost, second=marek, second_secret="x")) == ["wrong-secret"]
    ok(end(walk, "pin", **lost, second=marek, second_secret=SECRET), 201)

    assert TrayPart.objects.get().second.name == "Marek Dunwell"  # type: ignore[union-attr]  # it was given
