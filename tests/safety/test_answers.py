"""What matches stop, who answers for them and how, letters, the telephone list, files and pages."""

import csv
import io
import json
from typing import Any

import pytest
from django.test import Client

from jobs.matches.actions import write_on
from jobs.matches.models import Answer, Writing
from jobs.matches.reads import open_matches
from jobs.safety.models import Match
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.gear.actions import add_item
from shop.gear.models import Item
from shop.journal.models import Entry
from shop.post.models import Letter
from shop.stock.actions import receive
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.safety.doors import NAMED, TITLE, answer, looked, made, matched, the_match
from tests.safety.made import noted
from tests.walk import Walk, ok


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
    with nothing_changes():
        for job, told in (("9999", "There is no tray 9999."), ("no uid", "There is no tray no uid.")):
            wrong = answer(api["technician"], row, "put right", job=job)
            assert [each["detail"] for each in wrong.json()["errors"]] == [told]
    ok(answer(api["technician"], row), 201)
    ok(tested.sign(), 201)
    ok(tested.hand_back(), 201)
    shown = ok(api["lead"].get(f"notices/{notice['uid']}"))
    assert shown["progress"]["answered"] == {
        "checked and fine": 1, "put right": 0, "told": 0, "not here any more": 0,
    }  # fmt: skip
    assert (shown["progress"]["matched"], shown["progress"]["open"]) == (1, 0)


def test_it_stops_an_item_by_either_of_its_numbers(house: House) -> None:
    _, match = noted(house)
    gone, kept = match.item, house.item(serial="kept")
    assert gone is not None
    Item.objects.filter(pk=gone.pk).update(merged_into=kept)
    gone.refresh_from_db()

    assert [each.code for each in open_matches(kept)] == ["notice"]
    assert [each.code for each in open_matches(gone)] == ["notice"]


def test_it_stops_the_hand_back_of_what_was_signed_before(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    made(api, ranges=["S*"])

    with nothing_changes():
        assert codes(walk.hand_back()) == ["notice"]
    ok(answer(api["technician"], the_match()), 201)
    ok(walk.hand_back(), 201)


def test_it_asks_nobody_to_collect_what_it_stops(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    """No letter names gear that does not leave; the drop-off and the Counter say why."""
    walk = Walk(house, api).to("signed_off")
    made(api, ranges=["S*"])
    asked, page = f"drop-offs/{walk.drop_off}/asked", f"/drop-offs/{walk.drop_off}"

    with nothing_changes():
        assert codes(api["counter"].post(asked, {"how": "e-mail"})) == ["notice", "nothing-ready"]
    assert f"Safety notice “{TITLE}” matches it" in said(pages["counter"].get(page), 200)
    assert "it does not leave before" in said(pages["counter"].get("/counter"), 200)
    ok(answer(api["technician"], the_match()), 201)
    assert TITLE not in said(pages["counter"].get(page), 200)
    assert "it does not leave before" not in said(pages["counter"].get("/counter"), 200)
    ok(api["counter"].post(asked, {"how": "e-mail"}), 201)


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
    write_on(Writing.objects.get(notice__uid=notice["uid"]))


def test_it_writes_once_to_each_owner(owners: dict[str, Any], api: dict[str, Api], house: House) -> None:
    """Whatever they said about reminders; twice over it writes nobody twice. It says what is here already."""
    line = {"item": str(Item.objects.get(number=2).uid), "contents": "no gas"}
    line["plan"] = str(house.plans["first_stage"].uid)
    brought = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    ok(api["counter"].post("drop-offs", brought), 201)
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
    with_us = text.split("you need not bring")[1].split("Call us")[0]
    assert "E-00002" in with_us
    assert "E-00001" not in with_us
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


def test_it_tells_nothing_before_all_is_looked_through(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    notice = ok(api["lead"].post("notices", NAMED | {"ranges": ["AB*"]}), 201)

    with nothing_changes():
        assert codes(api["lead"].post(f"notices/{notice['uid']}/letters")) == ["not-looked-through"]
    page, found = f"/office/notices/{notice['uid']}", "Nothing in our records matches it."
    early = said(pages["lead"].get(page), 200)
    assert "The search is not at its end." in early
    assert found not in early
    looked()
    assert found in said(pages["lead"].get(page), 200)


def test_it_stops_nothing_once_withdrawn(tested: Walk) -> None:
    api = tested.api
    notice = made(api, ranges=["S*"], lots=["TH-302: TH-302-A"])
    reason = {"reason": "Issued in error, says Tarnwell."}
    with nothing_changes():
        assert codes(api["technician"].post(f"notices/{notice['uid']}/withdrawals", reason), 403) == []
    ok(api["lead"].post(f"notices/{notice['uid']}/withdrawals", reason), 201)

    assert codes(api["lead"].post(f"notices/{notice['uid']}/withdrawals", reason)) == ["withdrawn"]
    assert codes(api["lead"].post(f"notices/{notice['uid']}/letters")) == ["withdrawn"]
    assert open_matches(tested.item) == []
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
