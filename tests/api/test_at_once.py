"""The same thing done at one instant by several people, on real connections: each claim holds on both engines."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from jobs.flow.models import DropOff, Job
from jobs.signoff.models import SignOff
from jobs.tray.models import TrayPart
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.journal.models import Entry
from shop.journal.reads import faults
from shop.stock.actions import add_bin, move_by_hand, receive
from shop.stock.models import Lot, Movement, Stored
from tests.conftest import SECRET, Api, House
from tests.processes import taken
from tests.threads import statuses, together
from tests.walk import Walk, ok

pytestmark = pytest.mark.usefixtures("real_database")


@pytest.fixture
def walk(real_database: None, house: House, api: dict[str, Api]) -> Walk:
    """A checked-in first stage in a database that threads share."""
    return Walk(house, api)


def drop_off(house: House, item: Any) -> dict[str, Any]:
    line = {"item": str(item.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    return {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}


def test_it_works(walk: Walk) -> None:
    """The threads do share the rows: each reads what the test's own connection has written."""
    assert together(3, lambda i: Job.objects.get().leg) == ["checked_in"] * 3


def test_it_opens_one_drop_off_for_twenty_requests_with_one_key(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    data, counter = drop_off(house, house.item()), house.people["counter"]

    answers = together(20, lambda i: Api(counter).post("drop-offs", data, key="one-key"))

    assert statuses(answers) == {201: 20}
    assert len({answer.json()["uid"] for answer in answers}) == 1
    assert sum("Idempotent-Replay" not in answer for answer in answers) == 1
    assert (DropOff.objects.count(), Job.objects.count()) == (1, 1)


def test_it_opens_one_drop_off_for_a_form_sent_eight_times(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    path = f"/customers/{house.customer.uid}/check-in"
    line = drop_off(house, house.item())["lines"][0]
    typed = {"promised_on": "2199-01-01", "once": "one-form"}
    typed |= {f"lines[0]{name}": value for name, value in line.items()}

    def click(_: int) -> Any:
        client = Client()
        client.force_login(house.people["counter"])
        return client.post(path, typed)

    answers = together(8, click)

    assert {answer["Location"] for answer in answers} == {f"/drop-offs/{DropOff.objects.get().uid}"}


def test_it_opens_one_job_for_an_item_checked_in_twelve_times(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    data, counter = drop_off(house, house.item()), house.people["counter"]
    customers = [
        add_customer(by=counter, kind="person", name=f"No. {i}", email="", phone="", reminders=False)
        for i in range(12)
    ]

    answers = together(
        12, lambda i: Api(counter).post("drop-offs", data | {"customer": str(customers[i].uid)})
    )

    assert statuses(answers) == {201: 1, 409: 11}
    assert (DropOff.objects.count(), Job.objects.count()) == (1, 1)


def test_it_itemises_a_bag_once_for_two_counters(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    line = {"words": "A grey first stage.", "contents": "no gas"}
    bag = drop_off(house, house.item()) | {"lines": [line]}
    uid = ok(api["counter"].post("drop-offs", bag), 201)["lines"][0]["uid"]
    items = [house.item(serial=f"B-{i}") for i in range(2)]

    def itemise(i: int) -> Any:
        data = {"item": str(items[i].uid), "plan": str(house.plans["first_stage"].uid)}
        return Api(house.people["lead" if i else "counter"]).post(f"lines/{uid}/item", data)

    assert statuses(together(2, itemise)) == {200: 1, 409: 1}
    assert Job.objects.count() == 1


def test_it_serves_one_customer_at_two_counters(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    """One checks gear in while the other changes the customer's words; one of two takes the same item."""
    item, other = house.item(), house.item(serial="TH-2")
    path, data = f"customers/{house.customer.uid}", {"kind": "person", "name": "Maja L.", "reminders": True}

    def act(i: int) -> Any:
        api = Api(house.people["lead" if i % 2 else "counter"])
        if i < 2:
            return api.post("drop-offs", drop_off(house, item))
        return api.post("drop-offs", drop_off(house, other)) if i == 2 else api.put(path, data, seen=1)

    answers = together(5, act)

    assert statuses(answers[:2]) == {201: 1, 409: 1}
    assert answers[2].status_code == 201
    assert statuses(answers[3:]) == {200: 1, 412: 1}
    assert sorted(Job.objects.values_list("number", flat=True)) == [1, 2]
    assert list(faults()) == []


def test_it_gives_each_check_in_a_number_of_its_own(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    counter, items = house.people["counter"], [house.item(serial=f"N-{i}") for i in range(16)]

    answers = together(16, lambda i: Api(counter).post("drop-offs", drop_off(house, items[i])))

    assert statuses(answers) == {201: 16}
    assert sorted(DropOff.objects.values_list("number", flat=True)) == list(range(1, 17))
    assert sorted(Job.objects.values_list("number", flat=True)) == list(range(1, 17))


def test_it_signs_a_round_off_once_for_twenty_who_sign(walk: Walk) -> None:
    walk.to("testing").tests()
    house, seen = walk.house, walk.row.version
    given = {
        "outcome": "serviced", "secret": SECRET, "second_secret": SECRET,
        "second": str(house.people["inspector"].uid),
    }  # fmt: skip

    def sign(_: int) -> Any:
        return Api(house.people["technician"]).post(f"jobs/{walk.job}/sign-offs", given, seen=seen)

    answers = together(20, sign)

    assert statuses(answers) == {201: 1, 412: 19}
    assert SignOff.objects.count() == 1
    assert walk.item.clocks.get().restarts.count() == 1
    assert walk.row.moves.filter(to_leg="signed_off").count() == 1
    assert list(faults()) == []


def test_it_keeps_one_outcome_of_twenty_who_differ(walk: Walk) -> None:
    """Each looks at the job first: whoever comes late is stale or is refused, and nobody's outcome is written over."""
    walk.to("testing").tests()
    house = walk.house
    serviced = {"outcome": "serviced", "second": str(house.people["inspector"].uid), "second_secret": SECRET}
    failed = {"outcome": "failed", "words": "It creeps."}

    def sign(i: int) -> Any:
        api = Api(house.people["technician"])
        seen = api.get(f"jobs/{walk.job}").json()["version"]
        given = (serviced if i % 2 else failed) | {"secret": SECRET}
        return api.post(f"jobs/{walk.job}/sign-offs", given, seen=seen)

    answers = together(20, sign)

    won = [answer.json()["outcome"] for answer in answers if answer.status_code == 201]
    assert len(won) == 1
    assert {answer.status_code for answer in answers} <= {201, 409, 412}
    assert SignOff.objects.get().outcome == walk.row.outcome == won[0]
    assert walk.item.clocks.get().restarts.count() == (1 if won == ["serviced"] else 0)


def test_it_gives_a_job_to_one_of_two_who_assign_it(walk: Walk) -> None:
    people, seen = walk.house.people, walk.row.version

    def assign(i: int) -> Any:
        data = {"technician": str(people["technician" if i % 2 else "inspector"].uid)}
        return Api(people["lead"]).post(f"jobs/{walk.job}/assign", data, seen=seen)

    assert statuses(together(8, assign)) == {200: 1, 412: 7}
    assert Entry.objects.filter(verb="assigned").count() == 1


def test_it_hands_back_once(walk: Walk) -> None:
    walk.to("signed_off")
    given = {"collector": "Maja Lindqvist", "items": [walk.item.label]}
    seen = walk.row.drop_off.version

    def hand_back(_: int) -> Any:
        counter = Api(walk.house.people["counter"])
        return counter.post(f"drop-offs/{walk.drop_off}/hand-backs", given, seen=seen)

    assert statuses(together(8, hand_back)) == {201: 1, 412: 7}


def test_it_never_takes_more_than_a_lot_has(real_database: None, house: House, api: dict[str, Api]) -> None:
    lot, store = house.lots["TH-302"], house.people["storekeeper"]

    def take(i: int) -> list[int]:
        data = {"quantity": 1 + i % 3, "subject": f"bench {i}"}
        return [Api(store).post(f"lots/{lot.uid}/movements", data).status_code for _ in range(3)]

    answered = {code for codes in together(8, take) for code in codes}

    left = Lot.objects.get(pk=lot.pk).on_hand
    taken = -sum(Movement.objects.filter(lot=lot, verb="take").values_list("quantity", flat=True))
    assert answered == {201, 409}
    assert left >= 0
    assert taken + left == 10


def test_it_gives_the_last_piece_of_a_bin_to_one(real_database: None, house: House) -> None:
    """Nine more of the lot lie in another bin, so that only what lies in this one can refuse."""
    lot, store = house.lots["TH-302"], house.people["storekeeper"]
    shelf = add_bin(by=store, site="Workshop", label="A 3")
    move_by_hand(by=store, lot=lot, verb="move", quantity=1, subject="one near", to=shelf)

    def take(i: int) -> Any:
        data = {"quantity": 1, "subject": f"bench {i}", "bin": str(shelf.uid)}
        return Api(store).post(f"lots/{lot.uid}/movements", data)

    assert statuses(together(4, take)) == {201: 1, 409: 3}
    assert sorted(Stored.objects.filter(lot=lot).values_list("on_hand", flat=True)) == [0, 9]
    assert Lot.objects.get(pk=lot.pk).on_hand == 9
    assert list(faults()) == []


def test_it_gives_ten_pieces_to_ten_of_sixteen_processes(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    lot, store = house.lots["TH-302"], house.people["storekeeper"]

    answers = taken(16, str(lot.uid), store.email)

    assert sorted(answers) == [(201, [])] * 10 + [(409, ["not-enough"])] * 6
    assert Lot.objects.get(pk=lot.pk).on_hand == 0
    assert sum(Movement.objects.filter(lot=lot).values_list("quantity", flat=True)) == 0
    assert Movement.objects.filter(lot=lot, verb="take", quantity=-1).count() == 10
    assert list(faults()) == []


def test_it_renews_from_the_last_three_of_a_lot_for_three_of_six_jobs(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    lot = house.lots["TH-302"]
    ok(api["storekeeper"].post(f"lots/{lot.uid}/movements", {"quantity": 7, "subject": "training"}), 201)
    jobs = [Walk(house, api).to("stripping").job for _ in range(6)]

    def end(i: int) -> Any:
        data = {"ending": "renewed", "lot": str(lot.uid)}
        return Api(house.people["technician"]).post(f"jobs/{jobs[i]}/parts/yoke_ring", data)

    answers = together(6, end)

    assert statuses(answers) == {201: 3, 409: 3}
    refused = [answer.json()["errors"] for answer in answers if answer.status_code == 409]
    assert {error["code"] for errors in refused for error in errors} == {"not-enough"}
    assert Lot.objects.get(pk=lot.pk).on_hand == 0


def test_it_takes_from_two_lots_of_a_part_while_a_third_comes_in(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    store = house.people["storekeeper"]
    part, first = house.lots["TH-302"].part, house.lots["TH-302"]
    second = receive(by=store, part=part, number="TH-302-B", cured="2Q26", quantity=10)

    def act(i: int) -> Any:
        if i % 3 == 2:
            data = {"number": f"TH-302-N{i}", "cured": "2Q26", "quantity": 1}
            return Api(store).post(f"parts/{part.uid}/lots", data)
        lot = (first, second)[i % 3]
        return Api(store).post(f"lots/{lot.uid}/movements", {"quantity": 1, "subject": "training"})

    assert statuses(together(12, act)) == {201: 12}
    assert list(faults()) == []


def test_it_accounts_for_a_part_once_and_takes_one(walk: Walk) -> None:
    walk.to("stripping")
    lot = walk.house.lots["TH-302"]

    def end(_: int) -> Any:
        data = {"ending": "renewed", "lot": str(lot.uid)}
        return Api(walk.house.people["technician"]).post(f"jobs/{walk.job}/parts/yoke_ring", data)

    assert statuses(together(8, end)) == {201: 1, 409: 7}
    assert TrayPart.objects.count() == 1
    assert Lot.objects.get(pk=lot.pk).on_hand == 9


def test_it_keeps_the_first_of_two_changes_to_a_customer(
    real_database: None, house: House, api: dict[str, Api]
) -> None:
    counter, uid = house.people["counter"], house.customer.uid

    def change(i: int) -> Any:
        data = {"kind": "person", "name": f"Maja the {i}.", "reminders": True}
        return Api(counter).put(f"customers/{uid}", data, seen=1)

    answers = together(8, change)

    assert statuses(answers) == {200: 1, 412: 7}
    won = next(answer.json()["name"] for answer in answers if answer.status_code == 200)
    assert (Customer.objects.get().name, Customer.objects.get().version) == (won, 2)


@pytest.mark.parametrize(
    ("path", "role", "data"),
    [
        ("people", "lead", {
            "name": "Piet Varga", "email": "piet@aldermouth.example", "roles": ["counter"],
            "password": "an oar across the slip", "signing_secret": "pencilled in",
        }),
        ("models", "lead", {"maker": "Pellmoor", "name": "Brae", "kind": "first_stage"}),
        ("instruments", "lead", {
            "code": "BG-8", "name": "gauge", "kind": "pressure logger", "unit": "bar", "resolution": "0.01",
        }),
        ("parts", "storekeeper", {"number": "TH-900", "name": "Plug", "unit": "piece"}),
    ],
)  # fmt: skip
def test_it_adds_what_is_unique_once(
    real_database: None, house: House, api: dict[str, Api], path: str, role: str, data: dict[str, Any]
) -> None:
    answers = together(6, lambda i: Api(house.people[role]).post(path, data, key=str(uuid4())))

    assert statuses(answers) == {201: 1, 409: 5}


def test_it_keeps_every_chain_of_the_journal_whole(walk: Walk) -> None:
    together(8, lambda i: ok(walk.go_ahead(f"{100 + i}.00"), 201))

    numbers = Entry.objects.filter(subject=f"drop-off:{walk.drop_off}").values_list("n", flat=True)
    assert sorted(numbers) == list(range(1, 10))
    assert list(faults()) == []
