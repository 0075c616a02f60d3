"""Where gear is: rows that are never taken back, outside stations, and what was handed to the wrong person."""

from typing import Any

from jobs.flow.models import Custody
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes
from tests.walk import EVIDENCE, Walk, ok


def pass_on(walk: Walk, role: str = "counter", **given: Any) -> Any:
    return walk.api[role].post(f"lines/{walk.row.line.uid}/custody", given)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    ok(
        pass_on(walk, where="outside", holder="Aldermouth Test House", seal="AT-118", why="pressure test"),
        201,
    )

    with nothing_changes():
        assert codes(walk.trace()) == ["not-here"]
        assert "not-here" in codes(walk.sign())
    ok(pass_on(walk, where="here", holder="shelf 3", seal="AT-119"), 201)
    walk.tests()
    ok(walk.sign(), 201)

    assert [(row.where, row.holder, row.seal) for row in Custody.objects.order_by("pk")] == [
        ("here", "the workshop", ""),
        ("outside", "Aldermouth Test House", "AT-118"),
        ("here", "shelf 3", "AT-119"),
    ]


def test_it_leaves_for_good_only_by_a_hand_back(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)

    with nothing_changes():
        assert codes(pass_on(walk, where="gone", holder="somebody")) == ["by-hand-back"]


def test_it_corrects_a_wrong_hand_back_by_a_row(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")
    with nothing_changes():
        assert codes(pass_on(walk, where="here", holder="shelf 2")) == ["gone"]
        assert codes(pass_on(walk, where="here", holder="shelf 2", corrects=True)) == ["reason-missing"]
    why = "The other bag went over the counter; this one is still here."
    ok(pass_on(walk, where="here", holder="shelf 2", corrects=True, why=why), 201)
    assert walk.row.leg == "handed_back"

    ok(walk.hand_back(), 201)

    rows = list(Custody.objects.order_by("pk"))
    assert [row.where for row in rows] == ["here", "gone", "here", "gone"]
    assert rows[2].corrects == rows[1]
    with nothing_changes():
        assert codes(walk.hand_back()) == ["handed-back-before"]


def test_it_keeps_evidence_that_left_by_mistake(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")
    why = "The other bag went over the counter; this one is still here."
    ok(pass_on(walk, where="here", holder="shelf 2", corrects=True, why=why), 201)
    ok(api["counter"].post(f"items/{walk.item.uid}/evidence", EVIDENCE), 201)

    with nothing_changes():
        assert codes(walk.hand_back()) == ["held-evidence"]
