"""Alternatives are approved by the lead, taken as such only, and printed on the record."""

from typing import Any

import pytest

from jobs.tray.models import TrayPart
from shop.stock.models import Part
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send, sentences
from tests.walk import Walk, ok

WORDS = {"condition": "Only with the new washer.", "source": "The maker's bulletin 12."}


def body(house: House, number: str = "TH-303", **more: Any) -> dict[str, Any]:
    return WORDS | {"other": str(house.lots[number].part.uid)} | more


def approved(house: House, api: dict[str, Api], **more: Any) -> dict[str, Any]:
    """TH-303 in the place of TH-302, the yoke ring."""
    path = f"parts/{house.lots['TH-302'].part.uid}/alternatives"
    made: dict[str, Any] = ok(api["lead"].post(path, body(house, **more)), 201)
    return made


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A first stage that is apart."""
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    return walk


def end(walk: Walk, number: str, **more: Any) -> Any:
    sent = {"ending": "renewed", "lot": str(walk.house.lots[number].uid), "as_alternative": True} | more
    return walk.api["technician"].post(f"jobs/{walk.job}/parts/yoke_ring", sent)


def test_it_works(walk: Walk, pages: dict[str, Any]) -> None:
    approved(walk.house, walk.api, supersedes=True)
    told = "TH-303 supersedes TH-302, on the condition: Only with the new washer. (The maker's bulletin 12.)."
    with nothing_changes():
        refused = walk.end("yoke_ring", lot="TH-303")
    assert codes(refused) == ["wrong-part"]
    assert told in sentences(refused)[0]
    path = f"/jobs/{walk.job}/parts/yoke_ring"
    form = said(pages["technician"].get(path), 200)
    assert 'name="as_alternative"' in form
    assert "TH-303-A" in form

    sent = {"ending": "renewed", "lot": str(walk.house.lots["TH-303"].uid), "as_alternative": "on"}
    assert send(pages["technician"], path, sent).status_code == 302

    row = TrayPart.objects.get()
    assert (row.alternative and row.alternative.told, row.overridden) == (told, "")
    assert "Yoke O-ring, taken as an alternative:" in said(pages["counter"].get(f"/jobs/{walk.job}"), 200)
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    walk.parts(but="yoke_ring")
    ok(walk.move("rebuilding"))
    walk.steps("rebuilding")
    ok(walk.move("testing"))
    walk.tests()
    ok(walk.sign(), 201)
    (signed,) = ok(walk.api["counter"].get(f"jobs/{walk.job}/sign-offs"))["results"]
    assert [part["alternative"] for part in signed["record"]["parts"] if part.get("alternative")] == [told]
    assert "Taken as an alternative." in said(pages["counter"].get(f"/records/{signed['uid']}"), 200)


@pytest.mark.parametrize(
    ("lot", "more", "found"),
    [
        ("TH-302", {}, ["no-alternative"]),  # what the plan asks for is no alternative
        ("TH-301", {}, ["wrong-part", "no-alternative"]),
        ("TH-303", {"lot": None, "ending": "missing on arrival"}, ["no-alternative"]),
    ],
)
def test_it_is_taken_as_what_it_is_only(walk: Walk, lot: str, more: dict[str, Any], found: list[str]) -> None:
    approved(walk.house, walk.api)

    with nothing_changes():
        assert codes(end(walk, lot, **more)) == found


def test_an_alternative_lifts_nothing_else(walk: Walk) -> None:
    approved(walk.house, walk.api)
    lot = walk.house.lots["TH-303"]
    ok(walk.api["technician"].post("doubts", {"lot": str(lot.uid), "why": "They are too soft."}), 201)

    with nothing_changes():
        assert codes(end(walk, "TH-303")) == ["blocked"]


def test_it_is_not_taken_once_it_was_ended(walk: Walk, pages: dict[str, Any]) -> None:
    made = approved(walk.house, walk.api)
    part = walk.house.lots["TH-302"].part
    assert "Only with the new washer." in said(pages["counter"].get(f"/store/parts/{part.uid}"), 200)

    sent = {"why": "The bulletin was taken back."}
    assert send(pages["lead"], f"/store/alternatives/{made['uid']}/end", sent).status_code == 302

    with nothing_changes():
        assert codes(end(walk, "TH-303")) == ["wrong-part", "no-alternative"]
        assert codes(walk.api["lead"].post(f"alternatives/{made['uid']}/end", sent)) == ["ended-before"]
    assert ok(walk.api["counter"].get(f"parts/{part.uid}/alternatives"))["results"] == []
    assert "No other part is approved" in said(pages["counter"].get(f"/store/parts/{part.uid}"), 200)
    assert 'name="as_alternative"' not in said(
        pages["technician"].get(f"/jobs/{walk.job}/parts/yoke_ring"), 200
    )
    approved(walk.house, walk.api)


@pytest.mark.parametrize(
    ("more", "found"),
    [
        ({"condition": ""}, ["/condition"]),
        ({"source": ""}, ["/source"]),
        ({"condition": "x" * 301, "source": "x" * 201}, ["/condition", "/source"]),
        ({"other": "B"}, ["/other"]),
        ({"size": "6 x 1.5"}, ["/size"]),
    ],
)
def test_a_size_alone_approves_nothing(
    house: House, api: dict[str, Api], more: dict[str, Any], found: list[str]
) -> None:
    path = f"parts/{house.lots['TH-302'].part.uid}/alternatives"

    with nothing_changes():
        assert pointers(api["lead"].post(path, body(house, **more))) == found


def test_the_lead_approves_and_nothing_supersedes_in_a_circle(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    ring, other = (house.lots[number].part for number in ("TH-302", "TH-303"))
    with nothing_changes():
        for role in ("technician", "inspector", "counter", "storekeeper"):
            assert api[role].post(f"parts/{ring.uid}/alternatives", body(house)).status_code == 403
            assert (
                send(pages[role], f"/store/parts/{ring.uid}/alternatives/new", body(house)).status_code == 403
            )
    approved(house, api, supersedes=True)

    with nothing_changes():
        back = body(house, "TH-302", supersedes=True)
        assert codes(api["lead"].post(f"parts/{other.uid}/alternatives", back)) == ["circle"]
        page = send(pages["lead"], f"/store/parts/{ring.uid}/alternatives/new", body(house))
    assert "TH-303 is approved in place of TH-302 already." in said(page)
    assert Part.objects.filter(alternatives__ended_at=None, alternatives__supersedes=True).get() == ring


def test_its_label_finds_the_place_that_it_may_take(walk: Walk, pages: dict[str, Any]) -> None:
    """The filter waits first; the scanned lot may go in the ring's place, and its condition is told, not taken as said."""
    approved(walk.house, walk.api)
    ok(walk.end("seat", lot="TH-303"), 201)  # else the seat itself waits for such a part
    code = walk.house.lots["TH-303"].code

    with nothing_changes():
        refused = walk.api["technician"].post(f"jobs/{walk.job}/scans", {"lot": code})
        page = send(pages["technician"], f"/jobs/{walk.job}/scan", {"lot": code})

    assert codes(refused) == ["wrong-part"]
    assert sentences(refused)[0].startswith("The plan asks for TH-302 here;")
    assert "Only with the new washer." in sentences(refused)[0]
    assert "Only with the new washer." in said(page)
    ok(end(walk, "TH-303"), 201)


def test_it_comes_from_a_bin_that_has_it(walk: Walk) -> None:
    approved(walk.house, walk.api)
    made = ok(walk.api["storekeeper"].post("bins", {"site": "Workshop", "label": "B 7"}), 201)

    with nothing_changes():
        assert codes(end(walk, "TH-303", bin=made["uid"])) == ["not-enough-there"]
        refused = end(walk, "TH-301", as_alternative=False, bin=made["uid"])
        assert codes(refused) == ["wrong-part", "not-enough-there"]
