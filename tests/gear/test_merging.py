"""Two items that are one, and one that is two."""

from typing import Any

import pytest
from django.test import Client

from jobs.bench.models import Attempt
from jobs.flow.models import Hold, Job
from shop.clocks.reads import due_by
from shop.customers.actions import add_customer
from shop.gear.models import GearSet, Item, Member
from shop.journal.models import Entry
from shop.journal.reads import faults
from shop.post.models import Letter
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.photographs import encoded, form
from tests.rows import codes, hidden, nothing_changes, pointers, said, send
from tests.threads import statuses, together
from tests.walk import EVIDENCE, Walk, ok


def merge(api: Api, lose: Item, into: Any, seen: int = 1) -> Any:
    return api.post(f"items/{lose.uid}/merge", {"into": str(into)}, seen=seen)


def split(api: Api, item: Item, marks: list[str], seen: int = 1, **more: Any) -> Any:
    return api.post(f"items/{item.uid}/split", {"identifiers": marks}, seen=seen, **more)


def marks(item: Item) -> list[str]:
    return [str(mark) for mark in item.identifiers.order_by("pk")]


def test_it_works(house: House, api: dict[str, Api]) -> None:
    keep, lose = house.item(serial="TH-1"), house.item(serial="TH-2")

    body = ok(merge(api["technician"], lose, keep.label))

    assert (body["number"], body["merged_into"], body["version"]) == ("E-00001", None, 2)
    assert marks(keep) == ["serial TH-1", "serial TH-2"]
    assert marks(lose) == ["serial TH-2"], "it stays as it was"
    assert ok(api["counter"].get(f"items/{lose.uid}"))["merged_into"] == str(keep.uid)
    told = Entry.objects.filter(verb__in=["merged into another", "took another in"])
    assert dict(told.values_list("verb", "subject")) == {
        "merged into another": f"item:{lose.uid}",
        "took another in": f"item:{keep.uid}",
    }
    assert list(faults()) == []


def test_it_copies_no_mark_that_stands_there(house: House, api: dict[str, Api]) -> None:
    keep, lose = house.item(serial="TH-1"), house.item(serial="TH-1")

    body = ok(merge(api["counter"], lose, keep.uid))

    assert marks(keep) == ["serial TH-1"]
    assert body["alike"] == [], "it is not like what was merged into it"


def test_it_shows_the_past_of_both(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    walk = Walk(house, api).to("handed_back")
    keep, lose = house.item(serial="TH-9"), walk.item
    photographs = f"items/{lose.uid}/photographs"
    uid = ok(api["counter"].post(photographs, form(encoded(), "the yoke"), format="multipart"), 201)["uid"]

    both = {"into": keep.label, "sure": str(keep.uid)}
    answer = send(pages["counter"], f"/items/{lose.uid}/merge", both)

    assert answer["Location"] == f"/items/{keep.uid}"
    page = said(pages["counter"].get(f"/items/{keep.uid}"), 200)
    assert f'href="/jobs/{walk.job}"' in page
    assert f'src="/photographs/{uid}"' in page
    assert f'<a href="/items/{lose.uid}">{lose.label}</a>' in page
    lost = said(pages["counter"].get(f"/items/{lose.uid}"), 200)
    assert f'Merged into <a href="/items/{keep.uid}">{keep.label}</a>' in lost
    assert "Add a mark" not in lost


def test_a_page_says_first_what_goes_into_what(house: House, pages: dict[str, Client]) -> None:
    keep, lose = house.item(serial="TH-9"), house.item(serial="TH-8")
    path = f"/items/{lose.uid}/merge"
    with nothing_changes():
        page = send(pages["counter"], path, {"into": keep.label})

    form, owner = page.context["form"], house.customer.name
    gone, kept = (f"{row.label} {row.title}, {row.marks}, of {owner}" for row in (lose, keep))
    assert form.note.startswith(f"This one goes: {gone}.\nThis one is kept: {kept}.")
    assert "TH-8" in gone
    assert "TH-9" in kept
    assert form.button == "Merge them for good"
    carried = {each["name"]: each["value"] for each in form.hidden}

    done = pages["counter"].post(path, carried | {"into": keep.label})

    assert done["Location"] == f"/items/{keep.uid}"
    lose.refresh_from_db()
    assert lose.merged_into == keep


def test_another_one_typed_after_looking_is_looked_at_too(house: House, pages: dict[str, Client]) -> None:
    seen, typed, lose = house.item(serial="TH-9"), house.item(serial="TH-7"), house.item(serial="TH-8")
    path = f"/items/{lose.uid}/merge"
    with nothing_changes():
        page = send(pages["counter"], path, {"into": typed.label, "sure": str(seen.uid)})

    assert "TH-7" in said(page, 200)
    assert hidden(page, "sure") == str(typed.uid)


def test_who_may_not_merge_is_told_nothing_of_the_other(house: House, pages: dict[str, Client]) -> None:
    keep, lose = house.item(serial="TH-9"), house.item(serial="TH-8")
    with nothing_changes():
        page = send(pages["storekeeper"], f"/items/{lose.uid}/merge", {"into": keep.label})

    assert "TH-9" not in said(page, 403)


def test_it_takes_over_clocks_as_due(house: House, api: dict[str, Api]) -> None:
    """What was known of the lost one's clock is not known of the kept one: unknown counts as due."""
    walk = Walk(house, api).to("handed_back")
    keep = house.item(serial="TH-9")
    assert walk.item.clocks.get().due is not None

    ok(merge(api["counter"], walk.item, keep.uid))

    assert keep.clocks.get().due is None
    assert [clock.item for clock in due_by(today().replace(year=2190))] == [keep]
    assert [row["item"] for row in ok(api["lead"].get("clocks"))["results"]] == [str(keep.uid)]


def test_it_keeps_the_clock_of_the_kept_one(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")
    known = walk.item.clocks.get().due
    other = Walk(house, api).to("handed_back")

    ok(merge(api["counter"], other.item, walk.item.uid))

    assert walk.item.clocks.get().due == known


def test_it_lets_a_job_follow_one_that_ended_under_the_lost_number(house: House, api: dict[str, Api]) -> None:
    walk, keep = Walk(house, api).to("handed_back"), house.item(serial="TH-9")
    ok(merge(api["counter"], walk.item, keep.uid))
    line = {"item": str(keep.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    given = {"customer": str(house.customer.uid), "promised_on": "2199-01-01"}

    made = ok(api["counter"].post("drop-offs", given | {"lines": [line | {"follows": walk.job}]}), 201)

    follows = Job.objects.get(uid=made["lines"][0]["job"]).follows
    assert follows is not None
    assert str(follows.uid) == walk.job


def test_it_waits_for_the_end_of_an_open_job(house: House, api: dict[str, Api]) -> None:
    walk, other = Walk(house, api), Walk(house, api)
    free = house.item(serial="TH-9")

    with nothing_changes():
        assert codes(merge(api["counter"], walk.item, other.item.uid)) == ["open-job"]
        assert codes(merge(api["counter"], walk.item, free.uid)) == ["open-job"]
    ok(merge(api["counter"], free, walk.item.uid))


def test_it_is_hidden_and_found_as_the_kept_one(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    keep, lose = house.item(serial="TH-1"), house.item(serial="TH-2")
    ok(merge(api["counter"], lose, keep.uid))

    for asked in ("TH-2", lose.label):
        found = ok(api["counter"].get(f"find?q={asked}"))["results"]
        assert [row["number"] for row in found] == [keep.label], asked
    owner = said(pages["counter"].get(f"/customers/{house.customer.uid}"), 200)
    check_in = said(pages["counter"].get(f"/customers/{house.customer.uid}/check-in"), 200)
    assert [row["number"] for row in ok(api["counter"].get("items"))["results"]] == [keep.label]
    assert lose.label not in owner
    assert lose.label not in check_in


def test_it_leads_a_chain_to_its_last(house: House, api: dict[str, Api]) -> None:
    first, second, third = (house.item(serial=f"TH-{n}") for n in range(3))

    ok(merge(api["counter"], first, second.uid))
    ok(merge(api["counter"], second, third.uid, seen=2))

    assert {row.merged_into for row in Item.objects.filter(pk__in=[first.pk, second.pk])} == {third}


def test_it_is_done_with_nothing_more(house: House, api: dict[str, Api]) -> None:
    keep, lose, counter = house.item(serial="TH-1"), house.item(serial="TH-2"), api["counter"]
    ok(merge(counter, lose, keep.uid))
    mark, path = lose.identifiers.get(), f"items/{lose.uid}"
    line = {"item": str(lose.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    visit = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}

    with nothing_changes():
        assert codes(merge(counter, lose, keep.uid, seen=2)) == ["merged"]
        assert codes(merge(counter, keep, lose.uid, seen=2)) == ["merged"]
        assert codes(split(counter, lose, [], seen=2)) == ["merged"]
        assert codes(counter.post(f"{path}/identifiers", {"kind": "serial", "value": "N"}, seen=2)) == [
            "merged"
        ]
        assert codes(counter.post(f"identifiers/{mark.uid}/state", {"state": "disputed"}, seen=2)) == [
            "merged"
        ]
        assert codes(counter.post("drop-offs", visit)) == ["merged"]
        assert codes(counter.post(f"{path}/photographs", form(encoded()), format="multipart")) == ["merged"]


def test_it_refuses_a_merge(house: House, api: dict[str, Api]) -> None:
    item, other, theirs = (
        house.item(serial="TH-1"),
        house.item("second_stage", "TH-2"),
        house.item(serial="TH-3"),
    )
    given: Any = {"kind": "person", "name": "Tomas Ferrier", "email": "", "phone": "", "reminders": False}
    Item.objects.filter(pk=theirs.pk).update(owner=add_customer(by=house.people["counter"], **given))

    with nothing_changes():
        assert codes(merge(api["counter"], item, item.uid)) == ["itself"]
        assert codes(merge(api["counter"], item, other.uid)) == ["other-kind"]
        assert codes(merge(api["counter"], item, other.uid, seen=5), 412) == []
        assert codes(merge(api["storekeeper"], item, other.uid), 403) == []
        assert codes(merge(api["counter"], item, theirs.uid)) == ["other-owner"]
        assert codes(merge(api["stranger"], item, other.uid), 401) == []
        assert pointers(merge(api["counter"], item, "E-99")) == ["/into"]


@pytest.mark.parametrize("both", [False, True])
def test_it_leaves_one_membership(house: House, api: dict[str, Api], both: bool) -> None:
    keep, lose = house.item(serial="TH-1"), house.item(serial="TH-2")
    mine, other = (GearSet.objects.create(name=name, owner=house.customer) for name in ("A", "B"))
    Member.objects.create(gear_set=other, item=lose, from_day=today())
    if both:
        Member.objects.create(gear_set=mine, item=keep, from_day=today())

    ok(merge(api["counter"], lose, keep.uid))

    assert Member.objects.get(item=lose).to_day == today()
    assert Member.objects.get(item=keep, to_day=None).gear_set == (mine if both else other)


def test_it_keeps_what_is_evidence(house: House, api: dict[str, Api]) -> None:
    keep, lose = house.item(serial="TH-1"), house.item(serial="TH-2")
    ok(api["lead"].post(f"items/{lose.uid}/evidence", EVIDENCE), 201)

    with nothing_changes():
        assert codes(merge(api["counter"], lose, keep.uid)) == ["held"]
    ok(merge(api["counter"], keep, lose.uid))


def test_it_stays_condemned(house: House, api: dict[str, Api]) -> None:
    """No service of what was condemned under the number that is no longer worked with."""
    walk = Walk(house, api)
    ok(walk.sign(outcome="condemned", words="The seat bore is scored."), 201)
    ok(walk.hand_back(acknowledged=True), 201)
    keep = house.item(serial="TH-9")
    ok(merge(api["counter"], walk.item, keep.uid, seen=2))

    line = {"item": str(keep.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    visit = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    with nothing_changes():
        assert codes(api["counter"].post("drop-offs", visit)) == ["condemned"]


@pytest.mark.parametrize("here", [False, True])
def test_it_is_doubted_under_either_number(house: House, api: dict[str, Api], here: bool) -> None:
    """A doubt on the work of the lost one stops the kept one while it is here, else its owner is written to."""
    walk = Walk(house, api).to("handed_back")
    keep = Walk(house, api).item if here else house.item(serial="TH-9")
    ok(merge(api["counter"], walk.item, keep.uid))
    verdict = Attempt.objects.order_by("-pk")[0]

    ok(api["lead"].post("doubts", {"attempt": str(verdict.uid), "why": "The gauge stuck."}), 201)

    assert list(Hold.objects.values_list("job__item", flat=True)) == ([keep.pk] if here else [])
    assert Letter.objects.filter(purpose="safety").count() == (0 if here else 1)


def test_it_splits(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    walk = Walk(house, api).to("handed_back")
    item = walk.item
    ok(api["counter"].post(f"items/{item.uid}/identifiers", {"kind": "serial", "value": "TH-2"}, seen=1))
    moved = item.identifiers.get(value="TH-2")

    body = ok(split(api["technician"], item, [str(moved.uid)], seen=2), 201)

    second = Item.objects.get(uid=body["uid"])
    assert (body["split_from"], body["version"], body["owner"]) == (
        str(item.uid),
        1,
        str(house.customer.uid),
    )
    assert (marks(second), second.jobs.count()) == (["serial TH-2"], 0)
    assert item.jobs.count() == 1, "history stays"
    assert second.clocks.get().due is None, "of the second one nothing is known, so it counts as due"
    assert [
        Entry.objects.get(subject=f"item:{row.uid}", verb=verb).verb
        for row, verb in ((item, "split"), (second, "split off"))
    ] == ["split", "split off"]
    assert f'Split from <a href="/items/{item.uid}">' in said(pages["lead"].get(f"/items/{second.uid}"), 200)
    assert f'<a href="/items/{second.uid}">' in said(pages["lead"].get(f"/items/{item.uid}"), 200)
    assert list(faults()) == []


def test_it_splits_on_the_page(house: House, pages: dict[str, Client]) -> None:
    item = house.item(serial="TH-1")
    mark = item.identifiers.get()

    answer = send(pages["counter"], f"/items/{item.uid}/split", {"identifiers": [str(mark.uid)]})

    second = item.split_off.get()
    assert answer["Location"] == f"/items/{second.uid}"
    assert (marks(item), marks(second)) == ([], ["serial TH-1"])


def test_it_splits_once_for_a_key_sent_twice(house: House, api: dict[str, Api]) -> None:
    item = house.item()

    first, second = (split(api["counter"], item, [], key="once") for _ in range(2))

    assert first.json() == second.json()
    assert item.split_off.count() == 1


def test_it_refuses_a_split(house: House, api: dict[str, Api]) -> None:
    item, other = house.item(serial="TH-1"), house.item(serial="TH-2")
    foreign = str(other.identifiers.get().uid)

    with nothing_changes():
        assert codes(split(api["counter"], item, [foreign])) == ["not-its-mark"]
        assert codes(split(api["counter"], item, [], seen=3), 412) == []
        assert codes(split(api["storekeeper"], item, []), 403) == []
        assert pointers(split(api["counter"], item, ["x"])) == ["/identifiers"]


@pytest.mark.usefixtures("real_database")
def test_it_merges_one_way_when_both_ways_are_asked_at_once(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    both = [house.item(serial="TH-1"), house.item(serial="TH-2")]

    def act(i: int) -> Any:
        return merge(Api(house.people["counter"]), both[i % 2], both[1 - i % 2].uid)

    answers = statuses(together(8, act))

    assert answers.pop(200) == 1
    assert set(answers) <= {409, 412}
    assert Item.objects.filter(merged_into=None).count() == 1
    assert list(faults()) == []


@pytest.mark.usefixtures("real_database")
def test_it_opens_no_job_for_an_item_that_is_merged_at_once(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    keep, lose = house.item(serial="TH-1"), house.item(serial="TH-2")
    line = {"item": str(lose.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    visit = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}

    def act(i: int) -> Any:
        counter = Api(house.people["counter"])
        return merge(counter, lose, keep.uid) if i % 2 else counter.post("drop-offs", visit)

    together(6, act)

    merged = Item.objects.get(pk=lose.pk).merged_into is not None
    assert lose.jobs.count() == (0 if merged else 1)
    assert list(faults()) == []


@pytest.mark.usefixtures("real_database")
def test_it_splits_once_when_many_ask_at_once(real_database: None, house: House, api: dict[str, Api]) -> None:
    item = house.item()

    answers = together(6, lambda i: split(Api(house.people["counter"]), item, []))

    assert statuses(answers) == {201: 1, 412: 5}
    assert item.split_off.count() == 1
