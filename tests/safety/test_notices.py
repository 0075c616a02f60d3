"""Safety notices over the doors: what they name, what they match, then and later."""

from datetime import timedelta

import pytest
from django.test import Client

from jobs.matches.reads import open_matches
from jobs.safety import actions
from jobs.safety.actions import go_on, look_at_items
from jobs.safety.models import Look, Match, Notice
from jobs.safety.rules import how_of
from jobs.safety.tasks import sweep
from shop.clocks.actions import restart, set_going
from shop.gear.actions import add_items
from shop.gear.models import Identifier, Item
from shop.journal.models import Entry
from shop.stock.actions import add_content, add_part, receive
from shop.workshop.reads import at, now, today
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.safety.doors import NAMED, answer, looked, made, matched, the_match
from tests.walk import Walk, ok


def test_it_agrees_with_the_rule_in_the_database(house: House, api: dict[str, Api]) -> None:
    """What the statements find is what the rule finds, of items with no, one or two serials in every state."""
    read = ["AB1300", "ab 01200x", "AB3500", "1300", "", "AB", "CD7", "Ж7", "AB12", "AB1" + "0" * 20]
    rows = [[("serial", each)] for each in read] + [[("owner's mark", "AB1300")], []]
    rows += [[("serial", "AB99"), ("serial", "AB1300")], [("serial", ""), ("serial", "AB99")]]
    given = {"owner": house.customer, "model": house.models["first_stage"]}
    items = add_items(rows=[given | {"marks": marks} for marks in rows])
    for state in ("disputed", "unreadable"):
        (item,) = add_items(rows=[given | {"marks": [("serial", "AB99")]}])
        Identifier.objects.filter(item=item).update(state=state)
        items.append(item)
    for lines in (["AB1200 to AB3499"], ["AB12*"], ["100 to 2000", "AB5 to AB99"], ["AB1200x to AB1200z"]):
        notice = Notice.objects.get(uid=made(api, ranges=lines)["uid"])
        expected = {}
        for item in items:
            marks = Identifier.objects.filter(item=item, kind="serial")
            how = how_of([(mark.key, mark.state == "read") for mark in marks], notice.sought)
            if how:
                expected[item.label] = how.value
        assert matched({"uid": notice.uid}) == expected
        assert expected


def test_it_keeps_to_models_and_to_a_period_here(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    first, second = house.item("first_stage", "TH-5"), house.item("second_stage", "TH-6")
    by = house.people["technician"]
    clock = set_going(by=by, item=first, key="overhaul", title="Overhaul", months=12)
    restart(by=by, clock=clock, months=12, day=today(), cause="elsewhere:1", elsewhere="Quay Divers")
    models = [str(house.models["first_stage"].uid)]

    assert matched(made(api, models=models)) == {walk.item.label: "named", first.label: "named"}
    assert matched(made(api, models=models, ranges=["TH6"])) == {}
    assert matched(made(api, ranges=["TH6"])) == {second.label: "named"}
    period = {"dates": "serviced or received here", "to_day": str(today())}
    assert matched(made(api, **period, from_day=str(today()))) == {walk.item.label: "named"}
    past = period | {"from_day": "2020-01-01", "to_day": "2020-02-01"}
    assert matched(made(api, **past)) == {}
    of_making = {"dates": "made", "from_day": "2020-01-01", "to_day": "2020-02-01"}
    assert matched(made(api, ranges=["TH6"], **of_making)) == {second.label: "cannot be compared"}


def test_it_finds_what_comes_later(house: House, api: dict[str, Api]) -> None:
    """A new item, a mark that is read anew, a merge, a split, what is brought in, and a check-in."""
    item = house.item(serial="TH-1")
    notice = made(api, ranges=["AB1200 to AB3499"])
    assert matched(notice) == {}

    new = house.item(serial="AB1300")
    mark = {"kind": "serial", "value": "ab 2000"}
    ok(api["counter"].post(f"items/{item.uid}/identifiers", mark, seen=1))
    given = {"owner": house.customer, "model": item.model, "marks": [("serial", "AB1400")]}
    (brought,) = add_items(rows=[given])
    assert matched(notice) == dict.fromkeys([new.label, item.label, brought.label], "named")
    (unread,) = add_items(rows=[given | {"marks": [("serial", "TH-2")]}])
    read = unread.identifiers.get()
    ok(api["counter"].post(f"identifiers/{read.uid}/state", {"state": "unreadable"}, seen=1))
    assert matched(notice)[unread.label] == "cannot be compared"
    look_at_items(items=[new])
    assert Match.objects.filter(item=new).count() == 1


def test_it_blocks_a_lot_that_it_names(house: House, api: dict[str, Api]) -> None:
    """At once, at the tray under its own code, by nobody overridden, until somebody of store or bench has looked."""
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    ok(api["lead"].post("notices", NAMED | {"lots": "TH-302: TH-302-A"}), 201)
    row = the_match(lot=house.lots["TH-302"])

    with nothing_changes():
        assert codes(walk.end("yoke_ring")) == ["blocked-by-notice"]
        assert codes(answer(api["counter"], row)) == ["not-yours-to-say"]
        assert codes(answer(api["storekeeper"], row, "told")) == ["wrong-answer"]
        assert codes(answer(api["storekeeper"], row, "not here any more")) == ["still-here"]
    ok(answer(api["storekeeper"], row), 201)
    ok(walk.end("yoke_ring"), 201)


def test_it_makes_a_notice_of_a_lot_in_one_step(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    """By whoever keeps the store; gear into which its pieces went is found."""
    walk = Walk(house, api).to("handed_back")
    lot = house.lots["TH-302"]
    path = f"/store/lots/{lot.uid}/notice"
    with nothing_changes():
        assert codes(api["technician"].post(f"lots/{lot.uid}/notices", NAMED), 403) == []
    answered = send(pages["storekeeper"], path, NAMED)
    assert answered.status_code == 302
    looked()

    notice = Notice.objects.get()
    assert matched({"uid": notice.uid}) == {
        "TH-302-A": "named",
        walk.item.label: "a part of a named lot was fitted",
    }
    page = said(pages["technician"].get(f"/store/lots/{lot.uid}"), 200)
    assert "Nothing of it goes into gear unless it was checked and is fine." in page


def test_it_finds_lots_that_are_received_later(house: House, api: dict[str, Api]) -> None:
    """By their number, their cure quarter, or the kit that they come out of."""
    store = house.people["storekeeper"]
    kit = add_part(
        by=store, number="TH-KIT", name="Kit", unit="piece", material="", life_months=None, life_source=""
    )
    ring = house.lots["TH-302"].part
    add_content(by=store, kit=kit, part=ring, count=2)
    numbers = made(api, lots=["TH-302,L10 to L20", "TH-KIT: K7"])
    quarter = {"dates": "made", "from_day": "2026-05-01", "to_day": "2026-05-31"}
    cured = made(api, lots=["TH-302: L*"], **quarter)
    for number, when in (("L15", "2Q26"), ("L21", "1Q26"), ("K7", "2Q26"), ("L16", "2Q26")):
        receive(by=store, part=ring, number=number, cured=when, quantity=1)

    assert matched(numbers) == {"L15": "named", "L16": "named", "K7": "named"}
    assert matched(cured) == {"L15": "named", "L16": "named"}


def test_it_goes_on_after_it_was_cut_and_finds_nothing_twice(
    house: House, api: dict[str, Api], monkeypatch: pytest.MonkeyPatch
) -> None:
    items = [house.item(serial=f"AB{n}") for n in range(7)]
    monkeypatch.setattr(actions, "CHUNK", 2)
    monkeypatch.setattr(actions, "FEW", 2)
    ok(api["lead"].post("notices", NAMED | {"ranges": ["AB0 to AB9"]}), 201)
    look = Look.objects.get()

    assert actions._looked_on(look) is True
    look.refresh_from_db()
    assert (look.done_at, look.passed) == (None, min(2, look.last))
    go_on(look)
    go_on(look)
    Look.objects.update(done_at=None, passed=0)
    go_on(look)
    assert sorted(Match.objects.values_list("item__number", flat=True)) == [item.number for item in items]
    assert Entry.objects.filter(verb="notice matched").count() == 2


def test_it_waits_for_what_was_being_written(house: House, api: dict[str, Api]) -> None:
    house.item(serial="AB1300")
    ok(api["lead"].post("notices", NAMED | {"ranges": ["AB*"]}), 201)

    sweep()
    assert not Match.objects.exists()
    with at(now() + timedelta(seconds=16)):
        sweep()
    assert Match.objects.count() == 1


def test_it_says_all_that_is_wrong_with_lines(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    bad = {"ranges": "AB1 to AB9\nAB9 to AB1\n\n12-34", "lots": "TH-302\nTH-302: L1"}
    with nothing_changes():
        refused = api["lead"].post("notices", NAMED | bad)
    assert pointers(refused) == ["/lots/0", "/ranges/0", "/ranges/1"] or pointers(refused) == [
        "/lots",
        "/ranges",
    ]
    told = " ".join(each["detail"] for each in refused.json()["errors"])
    assert "Line 2 (“AB9 to AB1”): its end comes before its beginning." in told
    assert "Line 4 (“12-34”): its hyphen may stand" in told
    assert "Line 1 (“TH-302”): write the number of the part" in told
    with nothing_changes():
        page = said(send(pages["lead"], "/office/notices/new", NAMED | bad), 400)
    assert "Line 2 (“AB9 to AB1”)" in page
    assert "AB1 to AB9\nAB9 to AB1" in page
    with nothing_changes():
        assert (
            codes(api["lead"].post("notices", NAMED | {"lots": ["NO-1: L1", "NO-2: L1"]}))
            == ["no-such-part"] * 2
        )
        assert pointers(api["lead"].post("notices", NAMED)) == ["/ranges"]
        assert pointers(
            api["lead"].post("notices", NAMED | {"ranges": ["A1"], "from_day": "2026-01-01"})
        ) == ["/dates"]
        given = {"ranges": ["A1"], "dates": "made", "from_day": "2026-02-01", "to_day": "2026-01-01"}
        assert pointers(api["lead"].post("notices", NAMED | given)) == ["/to_day"]


def test_it_is_made_once_for_one_key(house: House, api: dict[str, Api]) -> None:
    body = NAMED | {"ranges": "AB1200,AB3499\nAB5000,AB5999\n"}
    first = ok(api["lead"].post("notices", body, key="notice-1"), 201)

    assert ok(api["lead"].post("notices", body, key="notice-1"), 201)["uid"] == first["uid"]
    assert Notice.objects.get().ranges == ["AB1200,AB3499", "AB5000,AB5999"]


def test_it_does_not_merge_a_match_away(house: House, api: dict[str, Api]) -> None:
    """What was matched under a lost number stops the kept one too."""
    lose = house.item(serial="AB1300")
    made(api, ranges=["AB1200 to AB3499"])
    walk = Walk(house, api)
    lose.refresh_from_db()
    ok(api["counter"].post(f"items/{lose.uid}/merge", {"into": str(walk.item.uid)}, seen=lose.version))

    assert [each.code for each in open_matches(walk.item)] == ["notice", "notice"]
    assert Item.objects.get(pk=lose.pk).merged_into == walk.item
