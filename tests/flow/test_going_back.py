"""A job that went back: what was done on that leg or a later one no longer counts and is done again."""

import json
from typing import Any

import pytest

from jobs.bench.models import Attempt
from jobs.flow.rules import still_counts
from jobs.signoff.models import SignOff
from jobs.tray.models import TrayPart
from jobs.worksheet.models import StepDone
from shop.catalogue.rules import passage
from shop.stock.models import Lot
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, sentences
from tests.walk import Walk, ok

FULL = passage(["stripping", "cleaning", "rebuilding", "testing"])


@pytest.fixture
def tested(house: House, api: dict[str, Api]) -> Walk:
    """A first stage whose tests are all within, and which was measured as received."""
    walk = Walk(house, api).to("cleared")
    data = {"phase": "as received", "reading": "10.9", "unit": "bar"}
    data["instrument"] = str(house.instruments["pressure logger"].uid)
    ok(api["technician"].post(f"jobs/{walk.job}/tests/low_supply", data), 201)
    for leg in ("stripping", "cleaning", "rebuilding", "testing"):
        ok(walk.move(leg))
        walk.steps(leg)
        if leg == "cleaning":
            walk.parts()
    walk.tests()
    return walk


def test_it_works(tested: Walk) -> None:
    ok(tested.move("rebuilding", reason="Bubbles at the yoke."))
    with nothing_changes():
        assert sentences(tested.move("testing")) == [
            "Step 7 is not done: Rebuild with the renewed parts.",
            "Step 8 is not done: Torque the yoke retainer.",
        ]

    tested.steps("rebuilding")
    ok(tested.move("testing"))
    with nothing_changes():
        assert codes(tested.sign()) == ["not-tested", "not-tested", "not-tested"]

    tested.tests()
    ok(tested.sign(), 201)
    assert list(StepDone.objects.filter(key="torque").order_by("pk").values_list("backs", flat=True)) == [
        0,
        1,
    ]


def test_it_goes_on_with_a_torque_only_when_it_was_read_off_again(tested: Walk) -> None:
    ok(tested.move("rebuilding", reason="Bubbles at the yoke."))
    ok(tested.step("rebuild"), 201)

    with nothing_changes():
        assert sentences(tested.move("testing")) == ["Step 8 is not done: Torque the yoke retainer."]


def test_it_does_everything_again_after_going_back_to_the_first_leg(tested: Walk) -> None:
    ok(tested.move("stripping", reason="The seat is in the wrong way round."))
    with nothing_changes():
        assert codes(tested.move("cleaning")) == ["step-open"] * 5

    tested.steps("stripping")
    ok(tested.move("cleaning"))
    with nothing_changes():
        assert codes(tested.move("rebuilding")) == ["part-open"] * 12 + ["step-open"]

    tested.parts()
    tested.steps("cleaning")
    ok(tested.move("rebuilding"))
    assert Lot.objects.get(number="TH-302-A").on_hand == 8, "a second O-ring was taken"
    assert list(TrayPart.objects.filter(key="yoke_ring").order_by("pk").values_list("backs", flat=True)) == [
        0,
        1,
    ]
    with nothing_changes():
        assert codes(tested.move("testing")) == ["step-open"] * 2


def test_it_keeps_the_parts_and_the_stripping_after_going_back_to_cleaning(tested: Walk) -> None:
    ok(tested.move("cleaning", reason="Salt in the chamber."))
    with nothing_changes():
        assert codes(tested.end("yoke_ring")) == ["ended-before"]
        assert [sentence[:6] for sentence in sentences(tested.move("rebuilding"))] == ["Step 6"]
    tested.steps("cleaning")
    ok(tested.move("rebuilding"))

    with nothing_changes():
        assert [sentence[:6] for sentence in sentences(tested.move("testing"))] == ["Step 7", "Step 8"]


def test_it_shows_on_the_sheet_what_is_to_be_done_again(tested: Walk) -> None:
    ok(tested.move("rebuilding", reason="Bubbles at the yoke."))

    sheet = ok(tested.api["technician"].get(f"jobs/{tested.job}/sheet"))

    assert [row["key"] for row in sheet["steps"] if row["done"] is None] == ["rebuild", "torque"]
    assert [row["key"] for row in sheet["parts"] if row["ended"] is None] == []
    assert [row["open"] for row in sheet["tests"]] == [True, True, True]


def test_it_does_a_step_once_only_after_each_move_back(tested: Walk) -> None:
    ok(tested.move("rebuilding", reason="Bubbles at the yoke."))
    ok(tested.step("torque"), 201)
    with nothing_changes():
        assert codes(tested.step("torque")) == ["done-before"]
    ok(tested.step("rebuild"), 201)
    ok(tested.move("testing"))
    ok(tested.move("rebuilding", reason="Bubbles again."))

    ok(tested.step("torque"), 201)

    assert StepDone.objects.filter(key="torque").count() == 3


def test_it_lets_what_was_measured_as_received_count_for_good(tested: Walk) -> None:
    ok(tested.move("rebuilding", reason="Bubbles at the yoke."))
    tested.steps("rebuilding")
    ok(tested.move("testing"))
    tested.tests()
    ok(tested.sign(), 201)

    record: dict[str, Any] = json.loads(SignOff.objects.get().record)

    assert [(row["phase"], row["reading"], row["counts"]) for row in record["tests"] if row["reading"]] == [
        ("as received", "10.9", True),
        ("final", "9.42", True),
        ("final", "0.2", True),
        ("final", "9.42", False),
        ("final", "0.2", False),
    ]
    assert record["not_tested"] == []
    assert Attempt.objects.count() == 7


def test_it_leaves_no_test_that_counts_in_the_record_of_a_job_that_went_back(tested: Walk) -> None:
    ok(tested.move("rebuilding", reason="The seat bore is scored."))
    ok(tested.sign(outcome="failed", words="The seat bore is scored."), 201)

    record: dict[str, Any] = json.loads(SignOff.objects.get().record)

    assert len(record["not_tested"]) == 3
    assert [row["done"] for row in record["steps"]] == [True] * 6 + [False] * 2


@pytest.mark.parametrize(
    ("leg", "recorded_after", "backs", "counts"),
    [
        ("rebuilding", 0, [], True),
        ("rebuilding", 0, ["rebuilding"], False),
        ("rebuilding", 1, ["rebuilding"], True),
        ("rebuilding", 0, ["stripping"], False),
        ("stripping", 0, ["cleaning"], True),
        ("stripping", 0, ["cleaning", "stripping"], False),
        ("stripping", 1, ["stripping", "rebuilding"], True),
        ("cleaning", 1, ["cleaning", "rebuilding", "cleaning"], False),
    ],
)
def test_it_counts_work_until_the_job_goes_back_to_its_leg_or_before(
    leg: str, recorded_after: int, backs: list[str], counts: bool
) -> None:
    assert still_counts(FULL, leg, recorded_after, backs) is counts
