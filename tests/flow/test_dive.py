"""The dive drawing: geometry, states and words, from the pure function alone."""

import pytest

from jobs.flow.rules import dive
from shop.web.rules import Dive

OVERHAUL = (
    "checked_in",
    "cleared",
    "stripping",
    "cleaning",
    "rebuilding",
    "testing",
    "signed_off",
    "handed_back",
)
INSPECTION = ("checked_in", "cleared", "testing", "signed_off", "handed_back")
SUNK = (*OVERHAUL[:-1], "disposed")

# Measured in Chromium: "handed back" in bold 14 px is 84.1 px wide, 7.65 px a letter, the most of all labels.
LABEL_PX_PER_LETTER = 7.7


def drawn(
    legs: tuple[str, ...] = OVERHAUL, here: str = "stripping", held: bool = False, compact: bool = False
) -> Dive:
    return dive(legs, here, held, compact)


def depth(picture: Dive, key: str) -> int:
    return next(leg.y for leg in picture.legs if leg.key == key) - picture.surface


def test_it_works() -> None:
    picture = drawn()
    assert [leg.state for leg in picture.legs] == ["done", "done", "here", *["ahead"] * 5]
    assert picture.line_done == "M34 28 L104 38 L175 88"
    assert picture.sentence == "Now stripping, next cleaning."


def test_it_leaves_the_surface_and_returns_to_it() -> None:
    picture = drawn()
    assert depth(picture, "checked_in") == 0
    assert depth(picture, "handed_back") == 0


def test_it_is_deepest_while_stripping_and_cleaning() -> None:
    picture = drawn()
    deepest = max(leg.y for leg in picture.legs)
    assert [leg.key for leg in picture.legs if leg.y == deepest] == ["stripping", "cleaning"]


def test_it_draws_only_the_legs_of_the_plan() -> None:
    picture = drawn(INSPECTION, "testing")
    assert [leg.label for leg in picture.legs] == [
        "checked in",
        "cleared",
        "testing",
        "signed off",
        "handed back",
    ]
    assert [leg.x for leg in picture.legs] == [34, 157, 280, 403, 526]


def test_it_never_surfaces_what_is_disposed_of() -> None:
    picture = drawn(SUNK, "disposed")
    assert depth(picture, "disposed") > depth(picture, "signed_off")
    assert picture.sentence == "Now disposed of, the end of its passage."


@pytest.mark.parametrize(
    ("here", "done", "ahead"), [("checked_in", 0, 8), ("testing", 6, 3), ("handed_back", 8, 0)]
)
def test_it_splits_the_line_at_the_job(here: str, done: int, ahead: int) -> None:
    picture = drawn(here=here)
    assert picture.line_done.count(" ") == max(2 * done - 1, 0)
    assert picture.line_ahead.count(" ") == max(2 * ahead - 1, 0)


def test_it_says_a_hold() -> None:
    picture = drawn(held=True)
    assert picture.held
    assert picture.sentence == "Now stripping, on hold, next cleaning."


@pytest.mark.parametrize("compact", [False, True])
@pytest.mark.parametrize("legs", [OVERHAUL, INSPECTION, SUNK])
def test_it_stays_on_its_paper(legs: tuple[str, ...], compact: bool) -> None:
    picture = drawn(legs, "cleared", compact=compact)
    assert all(8 <= leg.x <= picture.width - 8 for leg in picture.legs)
    assert all(8 <= leg.y <= picture.height - 8 for leg in picture.legs)


def spans(picture: Dive) -> list[tuple[float, float, int, int]]:
    """Left, right, top and bottom of each label in px, for letters of the assumed width."""
    boxes = []
    for leg in picture.legs:
        wide = LABEL_PX_PER_LETTER * len(leg.label)
        left = leg.label_x - {"start": 0.0, "middle": wide / 2, "end": wide}[leg.anchor]
        boxes.append((left, left + wide, leg.label_y - 11, leg.label_y + 3))
    return boxes


def line_points(picture: Dive) -> list[tuple[float, float]]:
    """The profile sampled at one hundred points a leg."""
    pairs = list(zip(picture.legs, picture.legs[1:], strict=False))
    return [(a.x + (b.x - a.x) * i / 100, a.y + (b.y - a.y) * i / 100) for a, b in pairs for i in range(101)]


@pytest.mark.parametrize("legs", [OVERHAUL, INSPECTION, SUNK])
def test_it_keeps_labels_off_the_line_and_off_each_other(legs: tuple[str, ...]) -> None:
    picture = drawn(legs, "cleared")
    boxes = spans(picture)
    crossed = [
        (x, y)
        for x, y in line_points(picture)
        for left, right, top, foot in boxes
        if left < x < right and top < y < foot
    ]
    assert crossed == []
    assert not any(
        a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3]
        for i, a in enumerate(boxes)
        for b in boxes[i + 1 :]
    )
    assert all(left >= 0 and right <= picture.width for left, right, _, _ in boxes)


@pytest.mark.parametrize(
    ("legs", "here"), [(OVERHAUL, "resting"), (("checked_in", "drying"), "drying"), ((), "testing")]
)
def test_it_refuses_a_passage_it_does_not_know(legs: tuple[str, ...], here: str) -> None:
    with pytest.raises(ValueError, match="no dive can be drawn"):
        dive(legs, here, held=False, compact=False)
