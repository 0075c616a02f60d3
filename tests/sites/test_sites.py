"""Levels at sites: what one brings to another, and what no site can give."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.sites.rules import AtSite, Brought, shortfalls
from shop.stock.actions import add_bin, receive
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import ok


@pytest.mark.parametrize(
    ("rows", "brought", "missing"),
    [
        ([AtSite("A", 5)], None, 0),  # not watched
        ([AtSite("A", 3, 2, 9)], None, 0),  # one more than its minimum
        ([AtSite("A", 2, 2, 9)], (), 7),  # nobody else
        ([AtSite("A", 2, 2, 9), AtSite("B", 4)], (Brought("B", 4),), 3),
        (
            [AtSite("A", 2, 2, 9), AtSite("B", 4, 1, 5)],
            (Brought("B", 2),),
            5,
        ),  # B keeps one more than its minimum
        ([AtSite("A", 0, 0, 4), AtSite("B", 3), AtSite("C", 9)], (Brought("C", 4),), 0),  # the fullest first
        ([AtSite("A", 0, 0, 4), AtSite("B", 1, 1, 9)], (), 4),  # who lacks gives none
    ],
)
def test_who_gives_what(rows: list[AtSite], brought: tuple[Brought, ...] | None, missing: int) -> None:
    found = {each.at.site: each for each in shortfalls(rows, 99)}

    assert ("A" in found) == (brought is not None)
    if brought is not None:
        assert (found["A"].brought, found["A"].missing) == (brought, missing)


LEVELS = st.one_of(st.none(), st.tuples(st.integers(0, 20), st.integers(1, 30)))


@pytest.mark.parametrize(
    ("free", "brought"), [(-2, ()), (0, ()), (1, (Brought("B", 1),)), (4, (Brought("B", 4),))]
)
def test_what_open_jobs_speak_for_stays_where_it_lies(free: int, brought: tuple[Brought, ...]) -> None:
    (found,) = shortfalls([AtSite("A", 0, 0, 4), AtSite("B", 9)], free)

    assert (found.brought, found.missing) == (brought, 4 - max(0, free))


@given(st.lists(st.tuples(st.integers(0, 60), LEVELS), max_size=5), st.integers(-5, 200))
def test_nobody_gives_more_than_there_is_to_spare(
    drawn: list[tuple[int, tuple[int, int] | None]], free: int
) -> None:
    rows = []
    for n, (there, level) in enumerate(drawn):
        minimum, up_to = (level[0], sum(level)) if level else (None, None)
        rows.append(AtSite(f"site {n}", there, minimum, up_to))
    at, found = {row.site: row for row in rows}, shortfalls(rows, free)
    given_away: dict[str, int] = {}
    for each in found:
        assert each.missing >= 0
        assert each.at.lacks == each.missing + sum(one.pieces for one in each.brought)
        for one in each.brought:
            given_away[one.site] = given_away.get(one.site, 0) + one.pieces

    assert {each.at.site for each in found} == {row.site for row in rows if row.lacks}
    for site, pieces in given_away.items():
        row = at[site]
        assert not row.lacks
        assert 0 < pieces <= row.there
        left = AtSite(site, row.there - pieces, row.minimum, row.up_to)
        assert not left.lacks  # giving makes no new want
    assert sum(given_away.values()) <= max(0, free)
    if any(each.missing for each in found) and sum(given_away.values()) < free:
        assert all(given_away.get(row.site, 0) == row.spare for row in rows if not row.lacks)


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    lot, keeper = house.lots["TH-302"], house.people["storekeeper"]  # ten in life, at the workshop
    part, door = lot.part, api["storekeeper"]
    boat = add_bin(by=keeper, site="Boat", label="Box")
    receive(by=keeper, part=part, number="B-1", cured=lot.cured, quantity=2, bin=boat)
    path = f"parts/{part.uid}/sites"

    seen = ok(door.put(path, {"site": "Boat", "minimum": 3, "up_to": 20}, part.version))
    (row,) = ok(door.get("parts/to-bring"))["parts"]
    (order,) = ok(door.get("parts/to-order"))["parts"]

    assert [(each["site"], each["there"]) for each in seen["sites"]] == [("Boat", 2), ("Workshop", 10)]
    assert (row["site"], row["there"], row["missing"]) == ("Boat", 2, 8)
    assert row["bring"] == [{"site": "Workshop", "pieces": 10}]
    assert (order["minimum"], order["quantity"]) == (None, 8)
    page = pages["counter"].get("/store/to-bring").content.decode()
    assert "<b>10 pieces</b> from Workshop" in page
    assert "8 pieces" in page
    assert "not watched here" in pages["counter"].get(f"/store/parts/{part.uid}").content.decode()


def test_what_is_past_its_life_or_watched_no_more_counts_for_nothing(
    house: House, api: dict[str, Api]
) -> None:
    part, door = house.lots["TH-302"].part, api["storekeeper"]
    path = f"parts/{part.uid}/sites"
    seen = ok(door.put(path, {"site": "Workshop", "minimum": 10, "up_to": 30}, part.version))
    (row,) = ok(door.get("parts/to-bring"))["parts"]
    assert (row["there"], row["missing"]) == (10, 20)  # ten more are past their life

    ok(door.put(path, {"site": "Workshop"}, seen["version"]))

    assert ok(door.get("parts/to-bring"))["parts"] == ok(door.get("parts/to-order"))["parts"] == []


@pytest.mark.parametrize(
    ("body", "found"),
    [
        ({"site": "Moon", "minimum": 1, "up_to": 2}, ["no-such-site"]),
        ({"site": "Workshop", "minimum": 2, "up_to": 2}, ["levels"]),
        ({"site": "Moon", "minimum": 2}, ["no-such-site", "one-level"]),
    ],
)
def test_both_doors_refuse(
    house: House, api: dict[str, Api], pages: dict[str, Any], body: dict[str, Any], found: list[str]
) -> None:
    part = house.lots["TH-302"].part
    with nothing_changes():
        answer = api["storekeeper"].put(f"parts/{part.uid}/sites", body, part.version)
        assert codes(answer) == found
        assert api["technician"].put(f"parts/{part.uid}/sites", body, part.version).status_code == 403
        assert api["storekeeper"].put(f"parts/{part.uid}/sites", body, part.version + 1).status_code == 412
        page = send(pages["storekeeper"], f"/store/parts/{part.uid}/site", body)
    assert all(each in said(page) for each in sentences(answer))
