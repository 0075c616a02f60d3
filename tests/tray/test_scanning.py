"""A lot's label scanned at the bench: the part that waits for it is renewed, or everything against it is said."""

from typing import Any

import pytest

from jobs.tray.models import TrayPart
from shop.stock.models import Lot
from shop.stock.reads import scanned_lot
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A first stage that is apart; filter, yoke ring and seat wait for new ones."""
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    return walk


def scan(walk: Walk, code: str, role: str = "technician", **more: Any) -> Any:
    return walk.api[role].post(f"jobs/{walk.job}/scans", {"lot": code}, **more)


def test_it_works(walk: Walk, house: House) -> None:
    """Whatever the order in which labels are scanned, each lot goes where its part waits."""
    for number, key in (("TH-303", "seat"), ("TH-301", "filter"), ("TH-302", "yoke_ring")):
        body = ok(scan(walk, house.lots[number].code), 201)
        assert (body["key"], body["ending"], body["lot"]) == (key, "renewed", f"{number}-A")
        assert Lot.objects.get(number=f"{number}-A").on_hand == 9

    with nothing_changes():
        again = scan(walk, house.lots["TH-303"].code)
        other = scan(walk, house.lots["TH-401"].code)
    assert codes(again) == ["ended-before"]
    assert "has its end already: renewed, from lot TH-303-A." in sentences(again)[0]
    assert codes(other) == ["nothing-waits"]


def test_it_says_whether_the_part_is_renewed_already_or_not_out_yet(
    walk: Walk, house: House, pages: dict[str, Any]
) -> None:
    """While others wait, which are not what the plan asks this lot for."""
    lot, later = house.lots["TH-303"], Walk(house, walk.api).to("stripping")
    ok(scan(walk, lot.code), 201)

    for job, code, sentence in (
        (walk, "ended-before", "has its end already"),
        (later, "not-out", "is not out yet"),
    ):
        with nothing_changes():
            assert codes(scan(job, lot.code)) == [code]
            page = send(pages["technician"], f"/jobs/{job.job}/scan", {"lot": lot.code})
        assert sentence in said(page)
        assert "The plan asks for" not in said(page)


def test_it_takes_once_however_often_it_is_sent(walk: Walk, house: House) -> None:
    code = house.lots["TH-302"].code
    first, again = (scan(walk, code, key="scan-1") for _ in range(2))

    assert (first.status_code, again.status_code, first.json()) == (201, 201, again.json())
    assert TrayPart.objects.count() == 1


def test_a_page_takes_it_by_one_scan(walk: Walk, house: House, pages: dict[str, Any]) -> None:
    bench = pages["technician"]
    assert "data-scans" in said(bench.get(f"/jobs/{walk.job}"), 200)

    went = send(bench, f"/jobs/{walk.job}/scan", {"lot": house.lots["TH-302"].code.lower()})

    assert went["Location"] == f"/jobs/{walk.job}?scanned=yoke_ring#tray"
    shown = said(bench.get(went["Location"]), 200)
    assert "Yoke O-ring: renewed, from lot TH-302-A" in shown
    assert TrayPart.objects.get().key == "yoke_ring"


def test_the_page_of_a_part_takes_it_too_while_it_waits(
    walk: Walk, house: House, pages: dict[str, Any]
) -> None:
    path = f"/jobs/{walk.job}/parts/"
    assert "data-scans" in said(pages["technician"].get(f"{path}seat"), 200)
    assert "data-scans" not in said(pages["technician"].get(f"{path}plate"), 200)
    assert "data-scans" not in said(pages["counter"].get(f"{path}seat"), 200)
    assert "data-scans" not in said(pages["counter"].get(f"/jobs/{walk.job}"), 200)
    ok(scan(walk, house.lots["TH-303"].code), 201)
    assert "data-scans" not in said(pages["technician"].get(f"{path}seat"), 200)


def test_it_refuses_with_the_sentences_of_the_tray(
    walk: Walk, house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    ok(scan(walk, house.lots["TH-301"].code), 201)
    other = house.lots["TH-401"]
    wrong = "The plan asks for TH-302 here; lot TH-401-A is TH-401."
    with nothing_changes():
        answer = scan(walk, other.code)
        page = send(pages["technician"], f"/jobs/{walk.job}/scan", {"lot": other.code})
        past = scan(walk, house.lots["old"].code)
    assert sentences(answer) == [wrong]
    assert answer.json()["errors"][0]["pointer"] == "/lot"
    assert page.status_code == 409
    assert wrong in said(page)
    assert sentences(past) == ["Lot TH-302-OLD is past its life: good to 2019-03-31."]

    doubt = {"lot": str(house.lots["TH-303"].uid), "why": "It smells of solvent."}
    ok(api["lead"].post("doubts", doubt), 201)
    ok(api["counter"].post(f"items/{walk.item.uid}/gas", {"oxygen": "32.0"}, seen=walk.item.version))
    with nothing_changes():
        assert codes(scan(walk, house.lots["TH-303"].code)) == ["unfit-for-gas", "blocked"]


@pytest.mark.parametrize("code", ["L-99999", "E-00001", "nothing of ours", "TH-302"])
def test_it_knows_no_such_lot(walk: Walk, code: str) -> None:
    with nothing_changes():
        assert sentences(scan(walk, code)) == [f"{code} is the code or number of no lot, or of several."]


def test_it_knows_a_makers_number_that_one_lot_alone_has(house: House) -> None:
    lot, other = house.lots["TH-302"], house.lots["TH-303"]
    assert scanned_lot(" th-302-a ") == lot

    same = Lot.objects.create(part=other.part, number="TH-302-A")
    assert scanned_lot("TH-302-A") is None
    assert scanned_lot(same.code) == same

    Lot.objects.filter(pk=same.pk).update(number=lot.code)
    assert scanned_lot(lot.code) is None  # a maker's number that reads like a code of ours: nobody guesses


def test_nobody_else_takes(walk: Walk, house: House) -> None:
    with nothing_changes():
        assert scan(walk, house.lots["TH-302"].code, role="counter").status_code == 403
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    walk.parts()
    ok(walk.move("rebuilding"))
    with nothing_changes():
        assert codes(scan(walk, house.lots["TH-302"].code)) == ["ended-before"]
