"""The queue on the Bench and in the API: whose jobs, in which order, and why some cannot go on."""

from datetime import timedelta
from typing import Any

import pytest

from jobs.flow.models import Job
from jobs.flow.shapes import JobOut
from jobs.queue.shapes import QueueRow
from shop.gear.models import GearSet, Member
from shop.stock.reads import in_store
from shop.stock.rules import Usable
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.rows import nothing_changes, pointers, said
from tests.walk import EVIDENCE, Walk, ok, pair


def numbers(body: Any) -> list[int]:
    return [row["job"]["number"] for row in body["rows"]]


def stopped(body: Any) -> dict[int, list[str]]:
    """The codes of what stops each job that cannot go on."""
    return {
        row["job"]["number"]: [stop["code"] for stop in row["stops"]] for row in body["rows"] if row["stops"]
    }


def test_it_works(house: House, api: dict[str, Api]) -> None:
    waiting, begun = Walk(house, api), Walk(house, api, "second_stage").to("stripping")

    body = ok(api["technician"].get("queue"))

    assert body["of"] == "next"
    assert numbers(body) == [begun.row.number, waiting.row.number]
    assert body["rows"][0]["can_go_on"] is True
    assert body["rows"][0]["why"][1] == "you have begun it"
    assert body["rows"][1]["can_go_on"] is False
    assert body["rows"][1]["stops"][0] == {
        "code": "no-go-ahead", "detail": "There is no go-ahead yet; the plans come to 95.00 GBP.",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("of", "role", "shown"),
    [
        ("next", "technician", ["mine", "nobody's"]),
        ("me", "technician", ["mine"]),
        ("everybody", "technician", ["mine", "theirs", "nobody's"]),
        ("me", "inspector", ["theirs"]),
        ("", "counter", ["mine", "theirs", "nobody's"]),
    ],
)
def test_it_shows_whose_jobs_were_asked_for(
    house: House, api: dict[str, Api], of: str, role: str, shown: list[str]
) -> None:
    walks = {"mine": Walk(house, api), "theirs": Walk(house, api), "nobody's": Walk(house, api)}
    ok(walks["mine"].assign())
    ok(walks["theirs"].assign("inspector"))

    body = ok(api[role].get(f"queue?of={of}"))

    assert sorted(numbers(body)) == sorted(walks[name].row.number for name in shown)


def test_it_leaves_out_what_is_signed_off(house: House, api: dict[str, Api]) -> None:
    Walk(house, api).to("signed_off")

    assert ok(api["technician"].get("queue?of=everybody"))["rows"] == []


def test_it_says_what_stops_each_job(house: House, api: dict[str, Api]) -> None:
    held, outside, empty = (
        Walk(house, api, kind).to("cleared") for kind in ("first_stage", "first_stage", "second_stage")
    )
    ok(api["technician"].post(f"jobs/{held.job}/holds", {"kind": "customer", "why": "no answer"}), 201)
    away = {"where": "outside", "holder": "Aldermouth Hydro", "seal": "S-1"}
    ok(api["technician"].post(f"lines/{outside.row.line.uid}/custody", away), 201)
    ok(
        api["storekeeper"].post(
            f"lots/{house.lots['TH-401'].uid}/movements",
            {"quantity": 10, "subject": "a trial", "in_spite": True},
        ),
        201,
    )

    body = ok(api["technician"].get("queue?of=me"))

    assert stopped(body) == {
        held.row.number: ["held-customer"],
        outside.row.number: ["not-here"],
        empty.row.number: ["parts-missing"],
    }


def test_it_draws_a_job_as_its_own_address_does(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(walk.assign())
    ok(api["technician"].post(f"jobs/{walk.job}/holds", {"kind": "parts", "why": "a seat is ordered"}), 201)
    ok(api["lead"].post(f"items/{walk.item.uid}/evidence", EVIDENCE), 201)

    (row,) = ok(api["technician"].get("queue?of=me"))["rows"]

    assert set(row) == set(QueueRow().fields)
    assert [hold["kind"] for hold in row["job"]["holds"]] == ["parts", "evidence"]
    own = ok(api["technician"].get(f"jobs/{walk.job}"))
    assert row["job"] == {name: own[name] for name in JobOut().fields}


def test_it_counts_what_is_in_kits_and_in_life_only(house: House, api: dict[str, Api]) -> None:
    walk, store = Walk(house, api).to("cleared"), api["storekeeper"]
    taken = {"quantity": 10, "subject": "a trial", "in_spite": True}
    ok(store.post(f"lots/{house.lots['TH-302'].uid}/movements", taken), 201)

    # TH-302-OLD still has ten, past their life.
    assert stopped(ok(api["technician"].get("queue?of=me"))) == {walk.row.number: ["parts-missing"]}

    kit = ok(store.post("parts", {"number": "TH-K1", "name": "Kit", "unit": "piece"}), 201)
    content = {"part": str(house.lots["TH-302"].part.uid), "count": 2}
    ok(store.post(f"parts/{kit['uid']}/contents", content), 201)
    ok(store.post(f"parts/{kit['uid']}/lots", {"number": "K-1", "cured": "2Q26", "quantity": 1}), 201)
    assert stopped(ok(api["technician"].get("queue?of=me"))) == {}


def test_it_counts_what_is_free_of_doubt_and_fit_for_the_gas(house: House, api: dict[str, Api]) -> None:
    walk, ring = Walk(house, api).to("cleared"), house.lots["TH-302"]
    path = f"parts/{ring.part.uid}"
    ok(api["storekeeper"].put(path, {"minimum": 5, "up_to": 20}, 1))
    ok(api["storekeeper"].put(f"{path}/fitness", {"fit_for": ["oxygen"], "fit_source": "a sheet"}, 2))
    (short,) = ok(api["technician"].get("queue?of=me"))["rows"][0]["stops"]
    assert short["detail"] == "Short in the store: TH-302 (0 of 1, not fit for air)."
    ok(api["storekeeper"].put(f"{path}/fitness", {}, 3))
    assert ok(api["storekeeper"].get("parts/to-order"))["parts"] == []

    made = ok(api["technician"].post("doubts", {"lot": str(ring.uid), "why": "A ring is cut."}), 201)

    assert stopped(ok(api["technician"].get("queue?of=me"))) == {walk.row.number: ["parts-missing"]}
    (row,) = ok(api["storekeeper"].get("parts/to-order"))["parts"]
    assert (row["in_life"], row["quantity"]) == (0, 21)  # one of them for the job
    ok(api["inspector"].post(f"doubts/{made['uid']}/answer", {"words": "It was one ring."}), 201)
    assert stopped(ok(api["technician"].get("queue?of=me"))) == {}


def test_a_kit_in_doubt_does_not_count_for_what_is_in_it(house: House, api: dict[str, Api]) -> None:
    ring, store = house.lots["TH-302"].part, api["storekeeper"]
    kit = ok(store.post("parts", {"number": "TH-K1", "name": "Kit", "unit": "piece"}), 201)
    ok(store.post(f"parts/{kit['uid']}/contents", {"part": str(ring.uid), "count": 2}), 201)
    lot = ok(store.post(f"parts/{kit['uid']}/lots", {"number": "K-1", "cured": "2Q26", "quantity": 3}), 201)
    assert in_store(["TH-302", "TH-K1"], today()) == {"TH-302": Usable(16, ""), "TH-K1": Usable(3, "")}

    ok(api["technician"].post("doubts", {"lot": lot["uid"], "why": "The bag is torn."}), 201)

    assert in_store(["TH-302", "TH-K1"], today()) == {"TH-302": Usable(10, "")}


def test_it_asks_for_no_part_that_has_its_end(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("cleaning")
    walk.parts()
    for number in ("TH-301", "TH-302", "TH-303"):
        ok(
            api["storekeeper"].post(
                f"lots/{house.lots[number].uid}/movements", {"quantity": 9, "subject": "a trial"}
            ),
            201,
        )

    assert stopped(ok(api["technician"].get("queue?of=me"))) == {}


def test_it_asks_for_the_authorisation_of_whoever_looks(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(walk.go_ahead(), 201)

    assert stopped(ok(api["storekeeper"].get("queue?of=next"))) == {walk.row.number: ["not-authorised"]}
    assert stopped(ok(api["technician"].get("queue?of=next"))) == {}


def test_it_stops_what_stands_under_a_withdrawn_plan(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("cleared")
    plan = house.plans["first_stage"]
    ok(api["lead"].post(f"plans/{plan.uid}/withdrawals", {"reason": "A limit in it is wrong."}), 201)

    assert stopped(ok(api["technician"].get("queue?of=me"))) == {walk.row.number: ["plan-withdrawn"]}


def test_it_filters_by_leg_and_technician(house: House, api: dict[str, Api]) -> None:
    mine, theirs = Walk(house, api).to("stripping"), Walk(house, api)
    ok(theirs.assign("inspector"))
    uid = house.people["inspector"].uid

    assert numbers(ok(api["lead"].get("queue?of=everybody&leg=stripping"))) == [mine.row.number]
    assert numbers(ok(api["lead"].get(f"queue?of=everybody&technician={uid}"))) == [theirs.row.number]


@pytest.mark.parametrize(
    ("query", "wrong"),
    [
        ("of=theirs", ["/of"]),
        ("leg=handed_back", ["/leg"]),
        ("technician=%00", ["/technician"]),
        ("of=%00&leg=%00&technician=1", ["/leg", "/of", "/technician"]),
    ],
)
def test_it_refuses_nonsense(
    house: House, api: dict[str, Api], pages: dict[str, Any], query: str, wrong: list[str]
) -> None:
    assert pointers(api["technician"].get(f"queue?{query}")) == wrong
    assert pages["technician"].get(f"/bench?{query}").status_code == 400


def test_it_groups_by_drop_off_with_the_reason_for_another_day(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    first, second = pair(house, api, house.item(), house.item("second_stage", serial="TH-2"))
    alone = Walk(house, api)
    for walk in (first, alone):
        ok(walk.go_ahead(), 201)
    day = today() + timedelta(days=2)
    promised = {"promised_on": day.isoformat(), "why": "The seat came late."}
    ok(api["lead"].post(f"jobs/{alone.job}/promise", promised, seen=1))

    page = pages["technician"].get("/bench")

    groups = page.context["going"]
    assert [[row.job.number for row in group.rows] for group in groups] == [
        [alone.row.number], [first.row.number, second.row.number],
    ]  # fmt: skip
    assert groups[0].promised_on == day
    assert "instead: The seat came late." in said(page, 200)


def test_it_keeps_a_set_together(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    first, second = house.item(), house.item("second_stage", serial="TH-2")
    spare = house.item(serial="TH-3")
    line = {"contents": "no gas"}
    lines = [
        line | {"item": str(item.uid), "plan": str(house.plans[item.model.kind].uid)}
        for item in (first, spare, second)
    ]
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": lines}
    ok(api["counter"].post("drop-offs", data), 201)
    row = GearSet.objects.create(name="Maja's regulator", owner=house.customer)
    for item in (first, second):
        Member.objects.create(gear_set=row, item=item, from_day=today())

    page = pages["technician"].get("/bench")

    (group,) = page.context["waiting"]
    assert [each.job.item for each in group.rows] == [first, second, spare]
    assert [each.gear_set for each in group.rows] == ["Maja's regulator", "Maja's regulator", ""]


def test_it_moves_the_chosen_on_from_the_bench(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    one, two = Walk(house, api).to("cleared"), Walk(house, api, "second_stage").to("cleared")
    others = Walk(house, api)
    ok(others.go_ahead(), 201)

    page = said(pages["technician"].get("/bench"), 200)
    assert f'value="{one.job}" form="move-on"' in page
    assert f'value="{others.job}"' not in page

    sent = {"once": "a-key", "jobs": [one.job, two.job]}
    assert pages["technician"].post("/bench/move-on", sent)["Location"] == "/bench"
    assert {job.leg for job in Job.objects.exclude(pk=others.row.pk)} == {"stripping"}


def test_it_shows_the_reasons_when_one_of_the_chosen_may_not_move(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    one, open_steps = Walk(house, api).to("cleared"), Walk(house, api, "second_stage").to("stripping")

    with nothing_changes():
        page = pages["technician"].post("/bench/move-on", {"jobs": [one.job, open_steps.job]})

    assert f"Tray {open_steps.row.number}: Step 1 is not done" in said(page)


def test_it_opens_on_what_is_next_for_somebody_who_works(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("cleared")

    assert f"Go on with tray {walk.row.number}" in said(pages["technician"].get("/bench"), 200)
    assert "Go on with tray" not in said(pages["counter"].get("/bench"), 200)
    assert "Everybody's bench" in said(pages["counter"].get("/bench"), 200)


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/bench", "No job is with you."),
        ("/bench?of=everybody", "No gear is in work."),
        ("/bench?leg=testing", "No job on this leg"),
    ],
)
def test_it_says_what_to_do_when_there_is_nothing(pages: dict[str, Any], path: str, words: str) -> None:
    assert words in said(pages["technician"].get(path), 200)
