"""Likely causes: kept by the lead over both doors, shown beside a verdict that is not within."""

from typing import Any

import pytest

from shop.advice.models import Advice
from shop.advice.reads import shipped
from shop.advice.shapes import AdviceIn
from shop.journal.models import Entry
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok

SEAT = {"what": "creep", "side": "above", "kind": "first_stage", "part": "Seat", "words": "Worn or cut."}


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    made = ok(api["lead"].post("advice", SEAT), 201)
    assert made["source"] == "Common practice, no source."
    walk = Walk(house, api).to("testing")

    outside = ok(walk.trace("creep_0p10"), 201)
    within = ok(walk.trace(why="The filter was seated anew."), 201)

    page = said(pages["technician"].get(f"/attempts/{outside['uid']}"), 200)
    assert outside["verdict"] == "outside"
    assert "Advice of the trade, no finding" in page
    assert "Worn or cut." in page
    assert "Likely causes" not in said(pages["technician"].get(f"/attempts/{within['uid']}"), 200)


def test_it_is_changed_and_withdrawn_by_the_lead_alone(api: dict[str, Api], pages: dict[str, Any]) -> None:
    row = ok(api["lead"].post("advice", SEAT), 201)
    path = f"advice/{row['uid']}"
    with nothing_changes():
        assert api["technician"].put(path, SEAT, seen=1).status_code == 403
        assert api["lead"].put(path, SEAT, seen=7).status_code == 412

    changed = ok(api["lead"].put(path, SEAT | {"part": "Sealing edge"}, seen=1))
    assert (changed["part"], changed["version"]) == ("Sealing edge", 2)
    withdrawal = {"seen": 2}
    assert send(pages["lead"], f"/office/advice/{row['uid']}/withdraw", withdrawal).status_code == 302
    assert Advice.objects.get().withdrawn_at
    with nothing_changes():
        assert codes(api["lead"].put(path, SEAT, seen=3)) == ["advice-withdrawn"]
    assert "Sealing edge" not in said(pages["technician"].get("/office/advice"), 200)
    verbs = Entry.objects.filter(subject=f"advice:{row['uid']}").order_by("n").values_list("verb", flat=True)
    assert list(verbs) == ["advice added", "advice changed", "advice withdrawn"]


def test_it_has_one_row_of_a_part_for_a_pattern(api: dict[str, Api]) -> None:
    ok(api["lead"].post("advice", SEAT), 201)
    other = ok(api["lead"].post("advice", SEAT | {"part": "Filter"}), 201)
    with nothing_changes():
        assert codes(api["lead"].post("advice", SEAT | {"words": "Otherwise."})) == ["advice-twice"]
        assert codes(api["lead"].put(f"advice/{other['uid']}", SEAT, seen=1)) == ["advice-twice"]


def test_it_takes_the_shipped_rows_once(api: dict[str, Api], pages: dict[str, Any]) -> None:
    assert ok(api["lead"].post("advice/shipped", {})) == {"added": len(shipped())}
    gone = Advice.objects.order_by("pk")[0]
    ok(api["lead"].post(f"advice/{gone.uid}/withdrawal", {}, seen=1))

    with nothing_changes():
        assert ok(api["lead"].post("advice/shipped", {})) == {"added": 0}
    assert "come with the house" not in said(pages["lead"].get("/office/advice"), 200)


@pytest.mark.parametrize("row", shipped(), ids=lambda row: f"{row['what']}-{row['part']}")
def test_it_ships_rows_that_say_that_they_have_no_source(row: dict[str, str]) -> None:
    shape = AdviceIn(data=row)
    assert shape.is_valid(), shape.errors
    assert row["source"] == "Common practice, no source."
