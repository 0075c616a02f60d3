"""What was recorded wrongly of a loose part is corrected while the gear is apart; what was recorded stays."""

from typing import Any

import pytest

from jobs.tray.models import TrayPart
from jobs.tray.reads import ended_parts, fitted_from
from jobs.tray.rules import again_refusals
from shop.stock.models import Lot, Movement
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok

WHY = "The other bag was opened."


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A first stage that is apart, its yoke ring renewed."""
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    ok(walk.end("yoke_ring"), 201)
    return walk


def on_hand(lot: Lot) -> int:
    return Lot.objects.get(pk=lot.pk).on_hand


def correct(walk: Walk, key: str = "yoke_ring", **given: Any) -> Any:
    return walk.api["technician"].post(f"jobs/{walk.job}/parts/{key}", {"why": WHY} | given)


def test_it_works(walk: Walk) -> None:
    """The piece goes back to its lot, the other comes out of its own, and both rows stay."""
    (first,) = TrayPart.objects.filter(key="yoke_ring")
    assert first.movement is not None
    was = first.movement.lot
    other = Lot.objects.create(part=was.part, number="TH-302-B", cured="2Q26", good_to=was.good_to)
    Movement.objects.create(
        lot=other,
        bin=first.movement.bin,
        verb="receive",
        quantity=1,
        at=first.at,
        effective_on=first.at.date(),
        by="nobody",
    )
    before = on_hand(was)

    body = ok(correct(walk, ending="renewed", lot=str(other.uid)), 201)

    row = ended_parts(walk.row)["yoke_ring"]
    assert (body["why"], row.why, row.corrects) == (WHY, WHY, first)
    assert (on_hand(was), on_hand(other)) == (before + first.count, 0)
    assert [fitted_from(lot).count() for lot in (was, other)] == [0, 1]
    assert TrayPart.objects.filter(key="yoke_ring").count() == 2
    ok(correct(walk, ending="scrapped", words="Into the bin for metal.", why="It was none of ours."), 201)
    assert on_hand(other) == 1
    assert ended_parts(walk.row)["yoke_ring"].origin == "nothing yet"
    filled = {"ending": "scrapped", "lot": str(was.uid), "words": "Into the bin for metal."}
    ok(walk.api["technician"].post(f"jobs/{walk.job}/parts/yoke_ring", filled), 201)
    assert on_hand(was) == before


def test_it_takes_the_last_piece_of_a_lot_again(walk: Walk) -> None:
    """What is put back may be what is then taken: nobody has to find another for it."""
    (row,) = TrayPart.objects.filter(key="yoke_ring")
    assert row.movement is not None
    lot = row.movement.lot
    left = on_hand(lot)
    Movement.objects.create(
        lot=lot,
        bin=row.movement.bin,
        verb="scrap",
        quantity=-left,
        at=row.at,
        effective_on=row.at.date(),
        by="nobody",
    )

    ok(correct(walk, ending="renewed", lot=str(lot.uid)), 201)

    assert on_hand(lot) == 0


def test_it_refuses_without_a_reason_and_where_nothing_is_to_correct(walk: Walk) -> None:
    with nothing_changes():
        again = walk.end("yoke_ring")
        early = correct(walk, "filter", ending="renewed", lot=str(walk.house.lots["TH-301"].uid))
    assert codes(again) == ["ended-before"]
    assert sentences(again) == [
        "Yoke O-ring is accounted for already. If that is wrong, correct it and say why."
    ]
    assert codes(early) == ["nothing-to-correct"]


def test_it_is_too_late_once_it_is_rebuilt(walk: Walk) -> None:
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    walk.parts(but="yoke_ring")
    ok(walk.move("rebuilding"))

    with nothing_changes():
        answer = correct(walk, ending="scrapped", words="Gone.")
    assert codes(answer) == ["wrong-leg"]


def test_it_is_corrected_on_the_page_and_printed_in_the_record(walk: Walk, pages: dict[str, Any]) -> None:
    page, technician = f"/jobs/{walk.job}/parts/yoke_ring", pages["technician"]
    assert f'href="{page}"' in said(technician.get(f"/jobs/{walk.job}"), 200)
    shown = said(technician.get(page), 200)
    assert "Yoke O-ring is renewed, from lot TH-302-A. Correct it here while the gear is apart." in shown
    assert "Why it is corrected" in shown
    assert "Why it is corrected" not in said(technician.get(f"/jobs/{walk.job}/parts/filter"), 200)

    lot = str(walk.house.lots["TH-302"].uid)
    send(technician, page, {"ending": "renewed", "lot": lot, "why": WHY})
    following = technician.get(f"/jobs/{walk.job}/parts/filter?done=yoke_ring")
    assert "Recorded: Yoke O-ring, renewed, from lot TH-302-A." in said(following, 200)
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    walk.parts(but="yoke_ring")
    ok(walk.move("rebuilding"))
    walk.steps("rebuilding")
    ok(walk.move("testing"))
    walk.tests()
    walk.steps("testing")

    assert f"corrected: {WHY}" in said(technician.get(f"/jobs/{walk.job}/sign-off"), 200)


@pytest.mark.parametrize(
    ("stands", "open_place", "why", "found"),
    [
        (False, False, "", []),
        (False, False, WHY, ["nothing-to-correct"]),
        (True, False, "", ["ended-before"]),
        (True, False, WHY, []),
        (True, True, "", []),
        (True, True, WHY, []),
    ],
)
def test_it_says_when_a_part_may_end_once_more(
    stands: bool, open_place: bool, why: str, found: list[str]
) -> None:
    refusals = again_refusals("Ring", stands=stands, open_place=open_place, why=why)

    assert [each.code for each in refusals] == found
