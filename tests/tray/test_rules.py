"""How a loose part may end, and what goes back in."""

import pytest

from jobs.tray.rules import ending_refusals, open_parts, origin_of, second_refusals
from tests.plans import plan

PLAN = plan()


@pytest.mark.parametrize(
    ("key", "ending", "leg", "before", "has_lot", "codes"),
    [
        ("seat", "renewed", "stripping", None, True, []),
        ("seat", "renewed", "cleaning", None, True, []),
        ("pin", "reused", "cleaning", None, False, []),
        ("pin", "renewed", "cleaning", None, True, []),
        ("seat", "reused", "cleaning", None, False, ["must-renew"]),
        ("seat", "renewed", "cleaning", None, False, ["lot-missing"]),
        ("pin", "reused", "cleaning", None, True, ["lot-unasked"]),
        ("seat", "scrapped", "cleaning", "scrapped", True, []),
        ("seat", "scrapped", "cleaning", "scrapped", False, ["ended-before"]),
        ("seat", "renewed", "cleaning", "scrapped", True, ["ended-before"]),
        ("seat", "reused", "testing", None, True, ["wrong-leg", "must-renew", "lot-unasked"]),
        *[("pin", "reused", leg, None, False, ["wrong-leg"]) for leg in (
            "checked_in", "cleared", "rebuilding", "testing", "signed_off", "handed_back", "disposed",
        )],
    ],
)  # fmt: skip
def test_it_works(
    key: str, ending: str, leg: str, before: str | None, has_lot: bool, codes: list[str]
) -> None:
    part = PLAN.part(key)
    assert part is not None
    origin = origin_of(ending, has_lot=has_lot, chosen="")

    found = ending_refusals(part, ending, origin, leg, before, has_lot=has_lot, words="in the metal bin")
    assert [refusal.code for refusal in found] == codes


@pytest.mark.parametrize(
    ("ending", "has_lot", "chosen", "origin", "codes"),
    [
        ("reused", False, "", "itself", []),
        ("renewed", True, "", "stock", []),
        ("renewed", True, "customer's own", "stock", []),
        ("renewed", False, "customer's own", "customer's own", ["words-missing"]),
        ("renewed", False, "maker's programme", "maker's programme", ["words-missing"]),
        ("scrapped", False, "", "nothing yet", ["words-missing"]),
        ("scrapped", True, "", "stock", ["words-missing"]),
        ("missing on arrival", False, "", "nothing yet", []),
        ("lost", False, "", "nothing yet", ["words-missing"]),
    ],
)
def test_it_says_where_the_part_that_goes_back_in_is_from(
    ending: str, has_lot: bool, chosen: str, origin: str, codes: list[str]
) -> None:
    part = PLAN.part("pin")
    assert part is not None

    assert origin_of(ending, has_lot=has_lot, chosen=chosen) == origin
    found = ending_refusals(part, ending, origin, "cleaning", None, has_lot=has_lot, words="")
    assert [refusal.code for refusal in found] == codes


@pytest.mark.parametrize(
    ("ending", "given", "is_same", "codes"),
    [
        ("lost", True, False, []),
        ("lost", False, False, ["second-missing"]),
        ("lost", True, True, ["second-missing"]),
        ("scrapped", False, False, []),
    ],
)
def test_it_has_a_lost_part_searched_for_by_two(
    ending: str, given: bool, is_same: bool, codes: list[str]
) -> None:
    assert [r.code for r in second_refusals(ending, given=given, is_same=is_same)] == codes


def test_it_names_each_open_part_with_the_step_that_frees_it() -> None:
    ended = {part.key: "itself" for part in PLAN.parts if part.key not in ("pin", "yoke_ring")}

    assert [refusal.sentence for refusal in open_parts(PLAN, ended)] == [
        "Step 2, Take off the yoke, the filter and its O-ring: yoke O-ring is not accounted for.",
        "Step 4, Lift the diaphragm out flat: lifter pin is not accounted for.",
    ]
    assert len(open_parts(PLAN, {})) == 12
    assert open_parts(PLAN, dict.fromkeys((part.key for part in PLAN.parts), "stock")) == []
    assert open_parts(PLAN, ended, ["pin", "yoke_ring"]) == []


def test_it_names_a_place_that_nothing_goes_into() -> None:
    ended = {part.key: "itself" for part in PLAN.parts} | {"pin": "nothing yet"}

    (refusal,) = open_parts(PLAN, ended)
    assert refusal.code == "place-empty"
    assert refusal.sentence.endswith("lifter pin has nothing to go in its place.")
