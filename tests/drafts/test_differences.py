"""What changed from one plan to another: by tables, then over both doors."""

from collections.abc import Callable
from typing import Any

import pytest

from shop.catalogue.rules import read_plan
from shop.drafts.rules import differences
from tests.catalogue.test_rules import step
from tests.conftest import Api, House
from tests.plans import Document, document
from tests.rows import pointers, said
from tests.walk import ok

Row = tuple[str, str, str, str, str]
LIMIT = "Limit: Lock-up at 50 bar, Lock-up at 50 bar"
CASES: dict[str, tuple[Callable[[Document], object], list[Row]]] = {
    "nothing": (lambda made: None, []),
    "a field that came later, at its default": (lambda made: made.update(oxygen=False), []),
    "a price": (
        lambda made: made.update(price=9_900),
        [("changed", "Plan", "price", "95.00 GBP", "99.00 GBP")],
    ),
    "a time": (lambda made: made.update(minutes=80), [("changed", "Plan", "usual time", "75 min", "80 min")]),
    "a clock": (
        lambda made: made["clock"].update(months=6),
        [("changed", "Plan", "again after", "12 months", "6 months")],
    ),
    "people": (
        lambda made: made.update(second_person=False),
        [("changed", "Plan", "signed by two people", "yes", "no")],
    ),
    "a caution": (
        lambda made: made["cautions"].append("Read the sheet."),
        [("added", "Caution", "", "", "words: Read the sheet.")],
    ),
    "a part's count": (
        lambda made: made["parts"][0].update(count=6),
        [("changed", "Part: Port plug", "how much", "5", "6")],
    ),
    "a part's kit": (
        lambda made: made["parts"][3].update(kit="TH-KIT"),
        [("changed", "Part: Filter", "kit", "", "TH-KIT")],
    ),
    "a step more": (
        lambda made: made["steps"].append(step("polish", "testing")),
        [("added", "Step: polish", "", "", "leg: testing; title: polish; usual time: 1 min")],
    ),
    "a step less": (
        lambda made: made["steps"].pop(6),
        [
            (
                "taken out",
                "Step: Rebuild with the renewed parts",
                "",
                "leg: rebuilding; title: Rebuild with the renewed parts; words: In the reverse order; a thin film of the "
                "lubricant that is fit for the gas.; tool: plastic pick, hex keys; usual time: 18 min",
                "",
            )
        ],
    ),
    "a torque": (
        lambda made: made["steps"][7].update(torque_n_m="30"),
        [("changed", "Step: Torque the yoke retainer", "torque", "28 N·m", "30 N·m")],
    ),
    "a caution taken away": (
        lambda made: made["steps"][5].update(caution=""),
        [
            (
                "changed",
                "Step: Wash, rinse and dry every part that is reused",
                "caution",
                "Nothing harder than plastic or wood touches a sealing edge.",
                "",
            )
        ],
    ),
    "what a step frees": (
        lambda made: made["steps"][3].update(frees=["diaphragm", "pin", "plate"]),
        [
            (
                "changed",
                "Step: Lift the diaphragm out flat",
                "frees",
                "diaphragm, plate, pin",
                "diaphragm, pin, plate",
            )
        ],
    ),
    "a limit": (
        lambda made: made["tests"][1]["bounds"][0].update(high="9.8"),
        [
            (
                "changed",
                LIMIT,
                "limit",
                "at least 9.0 and at most 10.0 bar",
                "at least 9.0 and at most 9.8 bar",
            )
        ],
    ),
    "a limit's unit": (
        lambda made: made["tests"][2]["bounds"][0].update(unit="psi"),
        [
            (
                "changed",
                "Limit: Supply pressure lost in a minute, valve shut, Drop in 60 s",
                "limit",
                "at most 1.0 bar",
                "at most 1.0 psi",
            )
        ],
    ),
    "a limit taken out": (
        lambda made: made["tests"][0]["bounds"].pop(),
        [
            (
                "taken out",
                "Limit: Intermediate pressure at 200 bar, Creep",
                "",
                "label: Creep; limit: at most 0.05 bar/min; decision: guarded; "
                "source: Tarnwell Hesk workshop sheet, invented for the demo.",
                "",
            )
        ],
    ),
    "a test's policy": (
        lambda made: made["tests"][1].update(repeat="all"),
        [("changed", "Test: Lock-up at 50 bar", "repeat", "last", "all")],
    ),
    "words with an underscore": (
        lambda made: made["steps"][0].update(tool="straight_hex key"),
        [("changed", "Step: Take off hoses and port plugs", "tool", "straight hex key", "straight_hex key")],
    ),
}


@pytest.mark.parametrize(("change", "found"), CASES.values(), ids=CASES.keys())
def test_it_works(change: Callable[[Document], object], found: list[Row]) -> None:
    old, new = document(), document()
    change(new)

    rows = differences(read_plan(old), read_plan(new), "GBP")

    assert [(row.change, row.where, row.what, row.old, row.new) for row in rows] == found


def test_it_says_when_steps_change_places() -> None:
    old, new = document("second_stage"), document("second_stage")
    new["steps"][0], new["steps"][1] = new["steps"][1], new["steps"][0]
    new["steps"].insert(0, step("look", "stripping"))

    rows = differences(read_plan(old), read_plan(new), "GBP")

    assert [(row.change, row.where, row.what) for row in rows] == [
        ("added", "Step: look", ""),
        ("changed", "Steps", "order"),
    ]
    assert rows[1].old.startswith("Take off clamp, cover and diaphragm; Take out lever")
    assert rows[1].new.startswith("Take out lever, spring and poppet; Take off clamp")


def test_it_turns_added_into_taken_out_the_other_way_round() -> None:
    old, new = document(), document()
    new["steps"].append(step("polish", "testing"))

    there = differences(read_plan(old), read_plan(new), "GBP")
    back = differences(read_plan(new), read_plan(old), "GBP")

    assert [(row.change, row.old) for row in back] == [("taken out", there[0].new)]


def issued(house: House, api: dict[str, Api], kind: str = "first_stage", **changes: Any) -> str:
    """One more version of the overhaul, with changes; its uid."""
    body = {"key": "overhaul", "document": document(kind) | changes}
    uid: str = ok(api["lead"].post(f"models/{house.models[kind].uid}/plans", body), 201)["uid"]
    return uid


def test_it_compares_with_the_version_before(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    uid = issued(house, api, price=9_900)
    old = str(house.plans["first_stage"].uid)

    body = ok(api["technician"].get(f"plans/{uid}/differences"))
    page = said(pages["technician"].get(f"/office/plans/{uid}/compare"), 200)

    assert body == {
        "old": old,
        "differences": [
            {"change": "changed", "where": "Plan", "what": "price", "old": "95.00 GBP", "new": "99.00 GBP"}
        ],
    }
    assert ok(api["technician"].get(f"plans/{uid}/differences?old={old}")) == body
    assert "price changed" in page
    assert "95.00 GBP" in page
    assert "99.00 GBP" in page


def test_it_compares_two_models_of_one_kind(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    data = {"maker": "Pellmoor", "name": "Tor", "kind": "first_stage"}
    model = ok(api["lead"].post("models", data), 201)["uid"]
    body = {"key": "overhaul", "document": document() | {"minutes": 80}}
    uid = ok(api["lead"].post(f"models/{model}/plans", body), 201)["uid"]
    old = house.plans["first_stage"].uid

    found = ok(api["lead"].get(f"plans/{uid}/differences?old={old}"))["differences"]
    page = said(pages["lead"].get(f"/office/plans/{uid}/compare?old={old}"), 200)

    assert [(each["what"], each["old"], each["new"]) for each in found] == [
        ("usual time", "75 min", "80 min")
    ]
    assert "usual time changed" in page


def test_it_says_that_there_is_nothing_before(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    uid = house.plans["second_stage"].uid

    assert ok(api["lead"].get(f"plans/{uid}/differences")) == {"old": None, "differences": []}
    assert "There is nothing to compare it with." in said(
        pages["lead"].get(f"/office/plans/{uid}/compare"), 200
    )


@pytest.mark.parametrize("asked", ["second_stage", "junk", "%00", "00000000-0000-0000-0000-000000000000"])
def test_it_compares_nothing_of_another_kind(
    house: House, api: dict[str, Api], pages: dict[str, Any], asked: str
) -> None:
    uid = house.plans["first_stage"].uid
    old = house.plans[asked].uid if asked in house.plans else asked
    issued(house, api)

    assert pointers(api["lead"].get(f"plans/{uid}/differences?old={old}")) == ["/old"]
    page = said(pages["lead"].get(f"/office/plans/{uid}/compare?old={old}"), 200)
    assert "Choose one" in page
    assert "<h2>From" not in page
