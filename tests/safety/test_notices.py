"""Safety notices over the doors: what they match, what they stop, who answers, letters and the telephone list."""

import csv
import io
import json
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from jobs.safety import actions
from jobs.safety.actions import go_on, look_at_items
from jobs.safety.models import Answer, Look, Match, Notice
from jobs.safety.reads import open_matches
from jobs.safety.rules import how_of
from jobs.safety.tasks import sweep
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.gear.actions import add_item, add_items
from shop.gear.models import Identifier, Item
from shop.journal.models import Entry
from shop.post.models import Letter
from shop.stock.actions import add_content, add_part, receive
from shop.workshop.reads import at, now, today
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, pointers, said, send, sentences
from tests.walk import Walk, ok

TITLE = "Cracked yokes"
NAMED = {"title": TITLE, "source": "Tarnwell, bulletin 7 of 2026", "words": "The yoke may crack."}


def made(api: dict[str, Api], **names: Any) -> dict[str, Any]:
    """A notice that was looked through."""
    found: dict[str, Any] = ok(api["lead"].post("notices", NAMED | names), 201)
    looked()
    return found


def looked() -> None:
    for look in Look.objects.filter(done_at=None):
        go_on(look)


def matched(notice: dict[str, Any]) -> dict[str, str]:
    """The items and lots that match, by number, and how."""
    rows = Match.objects.filter(notice__uid=notice["uid"]).select_related("item", "lot")
    return {row.item.label if row.item else row.lot.number if row.lot else "": row.how for row in rows}


def answer(api: Api, match: Match, became: str = "checked and fine", **more: Any) -> Any:
    return api.post(
        f"matches/{match.uid}/answers", {"became": became, "words": "Looked at with a glass."} | more
    )


def the_match(**of: Any) -> Match:
    return Match.objects.get(**of)


@pytest.fixture
def tested(house: House, api: dict[str, Api]) -> Walk:
    walk = Walk(house, api).to("testing")
    walk.tests()
    return walk


def test_it_works(tested: Walk) -> None:
    """A match stops sign-off until somebody of the bench has said that the gear is fine; then it leaves."""
    api = tested.api
    notice = made(api, ranges=["S*"])
    row = the_match()

    assert matched(notice) == {tested.item.label: "named"}
    with nothing_changes():
        assert codes(tested.sign()) == ["notice"]
    assert sentences(tested.sign()) == [
        f"Safety notice “{TITLE}” matches it and nobody has answered for it yet."
    ]
    assert codes(answer(api["counter"], row)) == ["not-yours-to-say"]
    ok(answer(api["technician"], row), 201)
    ok(tested.sign(), 201)
    ok(tested.hand_back(), 201)
    shown = ok(api["lead"].get(f"notices/{notice['uid']}"))
    assert shown["progress"]["answered"] == {
        "checked and fine": 1, "put right": 0, "told": 0, "not here any more": 0,
    }  # fmt: skip
    assert (shown["progress"]["matched"], shown["progress"]["open"]) == (1, 0)


def test_it_stops_the_hand_back_of_what_was_signed_before(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    made(api, ranges=["S*"])

    with nothing_changes():
        assert codes(walk.hand_back()) == ["notice"]
    ok(answer(api["technician"], the_match()), 201)
    ok(walk.hand_back(), 201)


def test_it_asks_at_sign_off_what_the_search_has_not_come_to(tested: Walk) -> None:
    ok(tested.api["lead"].post("notices", NAMED | {"ranges": ["S*"]}), 201)
    assert not Match.objects.exists()

    assert codes(tested.sign()) == ["notice"]


def test_it_does_not_take_told_for_serviced(tested: Walk) -> None:
    """An owner who was told may have it back as "do not dive" only."""
    api = tested.api
    made(api, ranges=["S*"])
    told = ok(answer(api["counter"], the_match(), "told"), 201)

    assert codes(tested.sign()) == ["notice-told"]
    ok(tested.sign(outcome="failed", words="A crack.", second=None, second_secret=""), 201)
    assert codes(tested.hand_back()) == ["do-not-dive"]
    ok(tested.hand_back(acknowledged=True), 201)
    assert told["became"] == "told"


def test_it_closes_as_failed_what_nobody_answered_but_keeps_it_here(tested: Walk) -> None:
    made(tested.api, ranges=["S*"])

    ok(tested.sign(outcome="failed", words="A crack.", second=None, second_secret=""), 201)
    assert codes(tested.hand_back(acknowledged=True)) == ["notice"]


def test_it_is_put_right_by_a_job_of_its_own(tested: Walk) -> None:
    """Such a job does not close otherwise than serviced until the answer is corrected."""
    api, other = tested.api, Walk(tested.house, tested.api, "second_stage")
    made(api, ranges=["S-first*"])
    row = the_match()

    assert codes(answer(api["technician"], row, "put right")) == ["job-missing"]
    assert codes(answer(api["technician"], row, "put right", job=other.job)) == ["other-item"]
    first = ok(answer(api["technician"], row, "put right", job=str(tested.row.number)), 201)
    assert first["job"] == tested.job
    failing: dict[str, Any] = {"outcome": "failed", "words": "A crack.", "second": None, "second_secret": ""}
    assert codes(tested.sign(**failing)) == ["put-right-by-it"]
    ok(answer(api["technician"], row, "told", corrects=first["uid"]), 201)
    ok(tested.sign(**failing), 201)


def test_it_is_not_put_right_before_its_tests(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    made(api, ranges=["S*"])

    assert codes(answer(api["technician"], the_match(), "put right", job=walk.job)) == ["not-done-yet"]


def test_it_keeps_each_answer_and_takes_one_at_a_time(tested: Walk) -> None:
    api = tested.api
    notice = made(api, ranges=["S*"])
    row = the_match()
    first = ok(answer(api["counter"], row, "told"), 201)

    with nothing_changes():
        assert codes(answer(api["technician"], row)) == ["answered-before"]
    second = ok(answer(api["technician"], row, corrects=first["uid"]), 201)
    with nothing_changes():
        assert codes(answer(api["technician"], row, "told", corrects=first["uid"])) == ["answered-before"]
    shown = ok(api["lead"].get(f"notices/{notice['uid']}/matches"))["results"]
    assert [(each["became"], [a["uid"] for a in each["answers"]]) for each in shown] == [
        ("checked and fine", [first["uid"], second["uid"]])
    ]
    assert (
        list(Entry.objects.filter(verb="notice answered").values_list("subject", flat=True))
        == [f"item:{tested.item.uid}"] * 2
    )


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


@pytest.fixture
def owners(house: House, api: dict[str, Api]) -> dict[str, Any]:
    """Two items of somebody with an address who wants no reminders, one of somebody without; a notice about all."""
    counter = house.people["counter"]
    silent = add_customer(
        by=counter, kind="person", name="Bo Merrow", email="", phone="+441632960001", reminders=False
    )
    Customer.objects.filter(pk=house.customer.pk).update(reminders=False)
    for serial in ("AB1", "AB2"):
        house.item(serial=serial)
    model = house.models["first_stage"]
    add_item(by=counter, owner=silent, model=model, serial="AB3", owners_mark="")
    return made(api, ranges=["AB*"]) | {"silent": silent}


def written(api: dict[str, Api], notice: dict[str, Any]) -> None:
    ok(api["lead"].post(f"notices/{notice['uid']}/letters"), 201)
    go_on(Look.objects.get(notice__uid=notice["uid"]))


def test_it_writes_once_to_each_owner(owners: dict[str, Any], api: dict[str, Api], house: House) -> None:
    """Whatever they said about reminders; twice over it writes nobody twice."""
    for _ in range(2):
        written(api, owners)

    letter = Letter.objects.get()
    assert (letter.recipient, letter.purpose, letter.address) == (
        str(house.customer.uid), "safety", "maja@lindqvist.example",
    )  # fmt: skip
    text = bytes(letter.body).decode()
    assert "E-00001" in text
    assert "E-00002" in text
    assert "E-00003" not in text
    assert Entry.objects.filter(verb="safety letter written").count() == 1


def test_it_lists_the_rest_to_telephone(owners: dict[str, Any], api: dict[str, Api], house: House) -> None:
    """Who has no address, whose letter failed, and what was found since; who was told is off it."""
    written(api, owners)
    path = f"notices/{owners['uid']}/calls"
    calls = ok(api["counter"].get(path))["calls"]
    assert [(c["name"], c["phone"], c["why"], c["items"]) for c in calls] == [
        ("Bo Merrow", "+441632960001", "no e-mail address", ["E-00003"])
    ]
    house.item(serial="AB4")
    assert [(c["name"], c["why"], c["items"]) for c in ok(api["counter"].get(path))["calls"]][1] == (
        "Maja Lindqvist", "found after the letter was written", ["E-00004"],
    )  # fmt: skip
    Letter.objects.update(state="failed")
    assert [c["items"] for c in ok(api["counter"].get(path))["calls"]] == [
        ["E-00003"], ["E-00001", "E-00002", "E-00004"],
    ]  # fmt: skip

    told = {"customer": str(owners["silent"].uid), "words": "By telephone, will not dive with it."}
    with nothing_changes():
        assert api["stranger"].post(f"notices/{owners['uid']}/told", told).status_code == 401
    ok(api["counter"].post(f"notices/{owners['uid']}/told", told), 201)
    assert codes(api["counter"].post(f"notices/{owners['uid']}/told", told)) == ["answered-before"]
    assert [c["name"] for c in ok(api["counter"].get(path))["calls"]] == ["Maja Lindqvist"]
    row = Answer.objects.get()
    assert (row.became, row.by, row.words) == ("told", house.people["counter"], told["words"])


def test_it_writes_nothing_before_all_is_looked_through(house: House, api: dict[str, Api]) -> None:
    notice = ok(api["lead"].post("notices", NAMED | {"ranges": ["AB*"]}), 201)

    with nothing_changes():
        assert codes(api["lead"].post(f"notices/{notice['uid']}/letters")) == ["not-looked-through"]


def test_it_stops_nothing_once_withdrawn(tested: Walk) -> None:
    api = tested.api
    notice = made(api, ranges=["S*"], lots=["TH-302: TH-302-A"])
    reason = {"reason": "Issued in error, says Tarnwell."}
    with nothing_changes():
        assert codes(api["technician"].post(f"notices/{notice['uid']}/withdrawals", reason), 403) == []
    ok(api["lead"].post(f"notices/{notice['uid']}/withdrawals", reason), 201)

    assert codes(api["lead"].post(f"notices/{notice['uid']}/withdrawals", reason)) == ["withdrawn"]
    assert codes(api["lead"].post(f"notices/{notice['uid']}/letters")) == ["withdrawn"]
    assert open_matches(tested.row) == []
    ok(tested.sign(), 201)
    house = tested.house
    assert matched(notice) == {tested.item.label: "named", "TH-302-A": "named"}
    receive(
        by=house.people["storekeeper"],
        part=house.lots["TH-302"].part,
        number="TH-302-A",
        cured="2Q26",
        quantity=1,
    )


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


def test_it_exports_without_formulas(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    Customer.objects.filter(pk=house.customer.pk).update(name="=cmd()")
    house.item(serial="AB1")
    notice = made(api, ranges=["AB*"])
    ok(answer(api["counter"], the_match(), "told", words="@telephone"), 201)
    address = f"notices/{notice['uid']}/export"

    (row,) = csv.DictReader(io.StringIO(api["lead"].get(address, accept="text/csv").content.decode()))
    assert (row["item or lot"], row["marks"], row["how it matches"]) == ("E-00001", "serial AB1", "named")
    assert (row["owner"], row["answer"], row["words"]) == ("'=cmd()", "told", "'@telephone")
    (plain,) = ok(api["lead"].get(address))["matches"]
    assert (plain["owner"], plain["telephone"], plain["answered by"]) == (
        "=cmd()",
        "+441632960417",
        "Bryn Castell",
    )
    page = pages["counter"].get(f"/office/notices/{notice['uid']}/matches.json")
    assert json.loads(page.content)["matches"] == [plain]


def test_it_shows_the_way_on_every_page(tested: Walk, pages: dict[str, Client]) -> None:
    """Of the office, of the item, of its job; nowhere is gear called safe."""
    empty = said(pages["counter"].get("/office/notices"), 200)
    assert "No safety notice was made." in empty
    notice = made(tested.api, ranges=["S*"])
    found = [
        said(pages["counter"].get(path), 200)
        for path in (f"/office/notices/{notice['uid']}", f"/items/{tested.item.uid}", f"/jobs/{tested.job}")
    ]
    assert all(f"/office/matches/{the_match().uid}/answer" in page for page in found)
    path = f"/office/matches/{the_match().uid}/answer"
    given = {"became": "put right", "job": str(tested.row.number), "words": "A new yoke."}
    assert send(pages["technician"], path, given).status_code == 302
    assert "This corrects “put right: A new yoke.”" in said(pages["technician"].get(path), 200)
    told = f"/office/matches/{the_match().uid}/told"
    assert "nothing of theirs waits any more" in said(pages["counter"].get(told), 200)


def test_it_does_not_merge_a_match_away(house: House, api: dict[str, Api]) -> None:
    """What was matched under a lost number stops the kept one too."""
    lose = house.item(serial="AB1300")
    made(api, ranges=["AB1200 to AB3499"])
    walk = Walk(house, api)
    lose.refresh_from_db()
    ok(api["counter"].post(f"items/{lose.uid}/merge", {"into": str(walk.item.uid)}, seen=lose.version))

    assert [each.code for each in open_matches(walk.row)] == ["notice", "notice"]
    assert Item.objects.get(pk=lose.pk).merged_into == walk.item
