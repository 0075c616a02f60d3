"""Our own gear is lent and brought back; what keeps it from being lent, through both doors."""

from datetime import date, timedelta
from typing import Any

import pytest

from jobs.bench.models import Attempt
from jobs.evidence.actions import keep_as_evidence
from jobs.lending.models import Loan
from jobs.safety.actions import make_notice
from shop.clocks.models import Clock
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.sets.actions import make_set
from shop.workshop.reads import at, noon, today
from tests.conftest import Api, House
from tests.lending.made import FAR, lent, our_item, us
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.threads import real_database as real_database
from tests.threads import statuses, together
from tests.walk import EVIDENCE, Walk, ok


def body(house: House, until: date | None = None, **more: Any) -> dict[str, Any]:
    until = until or today() + timedelta(days=7)
    return {"borrower": house.customer.label, "until": until.isoformat()} | more


def lend(api: dict[str, Api], item: Item, sent: dict[str, Any], role: str = "counter") -> Any:
    return api[role].post(f"items/{item.uid}/loans", sent)


def check_in(house: House, api: dict[str, Api], item: Item) -> Any:
    line = {"item": str(item.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    visit = {"customer": str(us(house).uid), "promised_on": "2199-01-01", "lines": [line]}
    return api["counter"].post("drop-offs", visit)


def test_it_works(house: House, pages: dict[str, Any], api: dict[str, Api]) -> None:
    item, counter = our_item(house), pages["counter"]
    assert "Nothing of ours is lent." in said(counter.get("/lent"), 200)

    with at(noon(today() - timedelta(days=9))):
        sent = body(house, today() + timedelta(days=7), note="With its hose.")
        assert send(counter, f"/items/{item.uid}/lend", sent).status_code == 302

    (row,) = ok(api["technician"].get("loans"))["results"]
    assert (row["item"], row["borrower"]) == (str(item.uid), str(house.customer.uid))
    assert (row["note"], row["back_on"]) == ("With its hose.", None)
    listed = said(counter.get("/lent"), 200)
    assert "1 item out, 1 late" in listed
    assert "Maja Lindqvist" in listed
    assert "tel:+441632960417" in listed
    assert "Bring it back" not in said(pages["technician"].get("/lent"), 200)
    assert "Lent to" in said(counter.get(f"/items/{item.uid}"), 200)

    back = {"condition": "The hose is cut."}
    assert send(counter, f"/loans/{row['uid']}/bring-back", back).status_code == 302

    assert ok(api["counter"].get("loans"))["results"] == []
    (row,) = ok(api["counter"].get(f"items/{item.uid}/loans"))["results"]
    assert (row["back_on"], row["condition"]) == (today().isoformat(), "The hose is cut.")
    assert row["back_by"] == str(house.people["counter"].uid)
    page = said(counter.get(f"/items/{item.uid}"), 200)
    assert "The hose is cut." in page
    assert "check it in" in page
    told = said(counter.get(f"/items/{item.uid}/history"), 200)
    assert "lent" in told
    assert "brought back" in told
    with nothing_changes():
        assert codes(api["lead"].post(f"loans/{row['uid']}/bring-back", back)) == ["back-already"]


def test_it_says_every_reason_at_once(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = Walk(house, api)  # a customer's, on a job, of unknown history
    sent = body(house) | {"borrower": us(house).label}
    with nothing_changes():
        answer = lend(api, walk.item, sent)
        page = said(send(pages["counter"], f"/items/{walk.item.uid}/lend", sent))

    assert codes(answer) == ["not-ours", "history-unknown", "open-job", "to-ourselves"]
    assert all(each in page for each in sentences(answer))


def test_what_falls_due_before_it_is_back_keeps_it_here(house: House, api: dict[str, Api]) -> None:
    item = our_item(house)
    due = today() + timedelta(days=20)
    Clock.objects.update(due=due)
    with nothing_changes():
        assert codes(lend(api, item, body(house, due))) == ["falls-due"]

    ok(lend(api, item, body(house, due - timedelta(days=1))), 201)


def test_what_is_overdue_says_so_on_its_page(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    item = our_item(house)
    Clock.objects.update(due=date(2026, 1, 10))
    with nothing_changes():
        assert sentences(lend(api, item, body(house))) == ["Overhaul was due on 10 January 2026."]

    page = said(pages["counter"].get(f"/items/{item.uid}"), 200)
    assert "Overhaul was due on 10 January 2026." in page
    assert "/lend" not in page


@pytest.mark.parametrize(
    ("months", "ended", "code"), [(None, False, "history-unknown"), (1200, True, "no-clock")]
)
def test_what_nobody_knows_is_not_lent(
    house: House, api: dict[str, Api], months: int | None, ended: bool, code: str
) -> None:
    item = our_item(house, months=months)
    if ended:  # its plan asks no more
        Clock.objects.update(months=None, due=None, interval=None)
    with nothing_changes():
        assert codes(lend(api, item, body(house))) == [code]


def test_what_was_not_serviced_or_stands_in_a_notice_is_not_lent(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")
    Item.objects.update(owner=us(house))
    ok(lend(api, walk.item, body(house)), 201)
    ok(api["counter"].post(f"loans/{Loan.objects.get().uid}/bring-back", {"condition": "As it went."}))
    given: Any = {"title": "Cracked yokes", "source": "Tarnwell, bulletin 7 of 2026"}
    make_notice(by=house.people["lead"], ranges=["S-*"], **given)  # nobody has looked it through yet
    with nothing_changes():
        assert codes(lend(api, walk.item, body(house))) == ["notice"]

    other = our_item(house, "R-9")
    made = ok(check_in(house, api, other), 201)
    again = walk.other(made["lines"][0]["job"], other)
    again.drop_off = made["uid"]
    ok(again.sign(outcome="failed", words="It creeps."), 201)
    ok(again.hand_back(acknowledged=True), 201)
    with nothing_changes():
        assert codes(lend(api, other, body(house))) == ["not-serviced"]


def test_what_is_doubted_is_not_lent(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")
    Item.objects.update(owner=us(house))
    raised = {"attempt": str(Attempt.objects.order_by("-pk")[0].uid), "why": "The gauge stuck."}
    ok(api["technician"].post("doubts", raised), 201)

    with nothing_changes():
        assert codes(lend(api, walk.item, body(house))) == ["doubt"]


def test_what_is_lent_is_neither_checked_in_nor_merged_away(house: House, api: dict[str, Api]) -> None:
    item, other = our_item(house), our_item(house, "R-2")
    loan = lent(house, item)
    with nothing_changes():
        answer = check_in(house, api, item)
        merged = api["counter"].post(f"items/{item.uid}/merge", {"into": str(other.uid)}, seen=item.version)
    assert codes(answer) == ["lent"]
    assert answer.json()["errors"][0]["pointer"] == "/lines/0/item"
    assert codes(merged) == ["lent"]

    ok(api["counter"].post(f"loans/{loan.uid}/bring-back", {"condition": "As it went out."}))
    ok(check_in(house, api, item), 201)


def test_what_was_lost_stands_on_its_own_page_until_it_is_back(house: House, api: dict[str, Api]) -> None:
    item = our_item(house)
    loan = lent(house, item)
    seen = Item.objects.get(pk=item.pk).version
    ok(api["counter"].post(f"items/{item.uid}/standing", {"standing": "lost"}, seen=seen))
    assert ok(api["counter"].get("loans"))["results"] == []
    assert len(ok(api["counter"].get(f"items/{item.uid}/loans"))["results"]) == 1

    ok(api["counter"].post(f"loans/{loan.uid}/bring-back", {"condition": "Found in a boat."}))

    assert Item.objects.get(pk=item.pk).standing == "in use"


def test_it_is_not_lent_to_somebody_who_was_merged_away(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    other = our_item(house, "R-2")
    lent(house, our_item(house))
    given = {"kind": "person", "name": "M. Lindqvist", "phone": "+441632960418"}
    kept = Customer.objects.get(uid=ok(api["counter"].post("customers", given), 201)["uid"])
    into, seen = {"into": str(kept.uid)}, house.customer.version
    ok(api["counter"].post(f"customers/{house.customer.uid}/merge", into, seen=seen))

    with nothing_changes():
        assert codes(lend(api, other, body(house))) == ["merged"]
    assert "tel:+441632960418" in said(pages["counter"].get("/lent"), 200)


@pytest.mark.parametrize("role", ["technician", "inspector", "storekeeper"])
def test_it_is_the_counters_and_the_leads(house: House, api: dict[str, Api], role: str) -> None:
    item = our_item(house)
    loan = lent(house, our_item(house, "R-2"))
    with nothing_changes():
        assert lend(api, item, body(house), role).status_code == 403
        assert api[role].post(f"loans/{loan.uid}/bring-back", {"condition": "Wet."}).status_code == 403

    ok(lend(api, item, body(house), "lead"), 201)


def test_two_at_once_give_one_loan_and_a_check_in_none_beside_it(real_database: None, house: House) -> None:
    item, other, counter = our_item(house), our_item(house, "R-2"), house.people["counter"]
    sent = body(house, FAR)

    def act(i: int) -> Any:
        return lend({"counter": Api(counter)}, item, sent)

    assert statuses(together(4, act)) == {201: 1, 409: 3}
    assert Loan.objects.filter(item=item).count() == 1

    def either(i: int) -> Any:
        clients = {"counter": Api(counter)}
        return lend(clients, other, sent) if i % 2 else check_in(house, clients, other)

    assert statuses(together(2, either)) == {201: 1, 409: 1}


def test_it_is_kept_back_by_what_holds_its_set(house: House, api: dict[str, Api]) -> None:
    first, second = our_item(house, "S-1"), our_item(house, "S-2")
    make_set(by=house.people["counter"], owner=us(house), name="Rental set", items=[first, second])
    keep_as_evidence(by=house.people["lead"], item=first, **EVIDENCE)

    assert codes(lend(api, second, body(house)), 409) == ["held"]
