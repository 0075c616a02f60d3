"""Another round after sign-off, comebacks, further plans, moving several jobs on."""

import json
from datetime import timedelta
from typing import Any

import pytest

from jobs.flow.models import Job, Round
from jobs.signoff.models import SignOff
from shop.catalogue.actions import issue_plan
from shop.catalogue.models import PlanVersion
from shop.clocks.models import Clock
from shop.workshop.reads import today
from tests.conftest import SECRET, Api, House
from tests.rows import codes, nothing_changes
from tests.walk import Walk, ok, pair


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    first = SignOff.objects.get()
    due = Clock.objects.get().due
    assert due is not None

    ok(walk.move("testing", reason="The gauge was doubted.", role="inspector"))

    assert [(row.n, row.outcome) for row in Round.objects.order_by("n")] == [(1, "serviced"), (2, "")]
    assert Clock.objects.get().due is None
    with nothing_changes():
        assert codes(walk.sign()) == ["not-tested", "not-tested", "not-tested"]
    walk.tests()
    ok(walk.sign(), 201)
    assert [row.outcome for row in Round.objects.order_by("n")] == ["serviced", "serviced"]
    assert Clock.objects.get().due == due
    assert SignOff.objects.get(pk=first.pk).record == first.record
    record = json.loads(SignOff.objects.order_by("-pk")[0].record)
    assert (record["round"], len(record["steps"]), len(record["tests"])) == (2, 8, 3)
    assert all(step["done"] for step in record["steps"])


def test_it_does_the_work_again_from_the_leg_it_went_back_to(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")

    ok(walk.move("stripping", reason="It leaks at the yoke.", role="inspector"))

    with nothing_changes():
        assert codes(walk.move("cleaning")) == ["step-open"] * 5
    for leg in ("stripping", "cleaning", "rebuilding"):
        walk.steps(leg)
        if leg == "cleaning":
            walk.parts()
        ok(walk.move({"stripping": "cleaning", "cleaning": "rebuilding", "rebuilding": "testing"}[leg]))
    walk.tests()
    ok(walk.sign(), 201)


def test_it_keeps_what_was_done_before_another_outcome(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    ok(walk.sign(outcome="failed", words="It creeps.", second=None, second_secret=""), 201)

    ok(walk.move("rebuilding", reason="The customer wants it after all.", role="lead"))

    assert walk.row.outcome == ""
    walk.steps("rebuilding")
    ok(walk.move("testing"))


@pytest.fixture
def back(house: House, api: dict[str, Api]) -> Walk:
    """A first stage that came back after its service."""
    walk = Walk(house, api).to("handed_back")
    line = {"item": str(walk.item.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    line |= {"follows": walk.job, "words": "It creeps again."}
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    made = ok(api["counter"].post("drop-offs", data), 201)
    again = walk.other(made["lines"][0]["job"], walk.item)
    again.drop_off = made["uid"]
    return again


def as_received(walk: Walk) -> None:
    data = {"phase": "as received", "reading": "10.9", "unit": "bar"}
    data["instrument"] = str(walk.house.instruments["pressure logger"].uid)
    ok(walk.api["technician"].post(f"jobs/{walk.job}/tests/low_supply", data), 201)


def test_it_tests_a_comeback_as_received_and_has_another_sign(back: Walk) -> None:
    back.to("cleared")
    with nothing_changes():
        assert codes(back.move("stripping")) == ["not-as-received"]
    as_received(back)
    for leg in ("stripping", "cleaning", "rebuilding", "testing"):
        ok(back.move(leg))
        back.steps(leg)
        if leg == "cleaning":
            back.parts()
    back.tests()

    with nothing_changes():
        assert codes(back.sign()) == ["same-signer"]
    ines = {"second": str(back.house.people["technician"].uid), "second_secret": SECRET}
    ok(back.sign(role="inspector", **ines), 201)
    assert json.loads(SignOff.objects.order_by("-pk")[0].record)["follows"] == "job 1"


def test_it_follows_only_an_ended_job_of_the_same_item(house: House, api: dict[str, Api], back: Walk) -> None:
    other = house.item(serial="TH-9")
    line = {"item": str(other.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01"}

    with nothing_changes():
        answer = api["counter"].post("drop-offs", data | {"lines": [line | {"follows": back.job}]})

    assert codes(answer) == ["follows-another"]


@pytest.fixture
def inspection(house: House) -> PlanVersion:
    """A second plan of the first stage: it tests only."""
    document = house.plans["first_stage"].document | {
        "title": "Inspection", "legs": ["testing"], "price": 1500, "second_person": False, "parts": [], "steps": [],
        "clock": {"key": "inspection", "title": "Inspection", "months": 6},
    }  # fmt: skip
    return issue_plan(
        by=house.people["lead"], model=house.models["first_stage"], key="inspection", document=document
    )


def test_it_puts_one_more_plan_on_a_job(house: House, api: dict[str, Api], inspection: PlanVersion) -> None:
    walk = Walk(house, api)
    ok(walk.go_ahead("100.00"), 201)
    ok(walk.assign())

    added = {"plan": str(inspection.uid)}
    job = ok(api["counter"].post(f"jobs/{walk.job}/plans", added, seen=walk.row.version))

    assert job["plans"] == [str(house.plans["first_stage"].uid), str(inspection.uid)]
    with nothing_changes():
        assert codes(walk.move("cleared", role="counter")) == ["go-ahead-too-low"]
        again = api["counter"].post(f"jobs/{walk.job}/plans", added, seen=walk.row.version)
        assert codes(again) == ["plan-twice"]
    keys = [test["key"] for test in ok(api["lead"].get(f"jobs/{walk.job}/sheet"))["tests"]]
    assert len(keys) == 6
    assert sum(key.startswith("inspection-") for key in keys) == 3


def test_it_restarts_the_clock_of_every_plan(
    house: House, api: dict[str, Api], inspection: PlanVersion
) -> None:
    item = house.item()
    line = {"item": str(item.uid), "plan": str(inspection.uid), "contents": "no gas"}
    data = {"customer": str(house.customer.uid), "promised_on": "2199-01-01"}
    data |= {"lines": [line | {"more_plans": [str(house.plans["first_stage"].uid)]}]}  # type: ignore[dict-item]  # it is JSON
    ok(api["counter"].post("drop-offs", data), 201)
    job = Job.objects.get()

    assert job.plan.title == "Inspection and Overhaul"
    assert sorted(item.clocks.values_list("key", flat=True)) == ["inspection", "overhaul"]
    assert job.legs == ("checked_in", "cleared", "stripping", "cleaning", "rebuilding", "testing", "signed_off",
                        "handed_back")  # fmt: skip


def test_it_moves_several_jobs_on_or_none(house: House, api: dict[str, Api]) -> None:
    one, two = pair(house, api, house.item(), house.item("second_stage", "TH-2"))
    ok(one.go_ahead("500.00"), 201)
    for walk in (one, two):
        ok(walk.assign())
        ok(walk.move("cleared", role="counter"))
    both = {"jobs": [one.job, two.job]}

    ok(api["technician"].post("jobs/move-on", both))
    assert {walk.row.leg for walk in (one, two)} == {"stripping"}

    one.steps("stripping")
    with nothing_changes():
        answer = api["technician"].post("jobs/move-on", both)
    assert {error["detail"].split(":")[0] for error in answer.json()["errors"]} == {f"Tray {two.row.number}"}


def test_it_promises_another_day_and_says_why(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    later = (today() + timedelta(days=20)).isoformat()

    given = {"promised_on": later, "why": "Seats come next week."}
    job = ok(api["counter"].post(f"jobs/{walk.job}/promise", given, seen=walk.row.version))

    assert (job["promised_on"], job["promised_why"]) == (later, "Seats come next week.")
    with nothing_changes():
        past = {"promised_on": "2001-01-01", "why": "So."}
        assert codes(api["counter"].post(f"jobs/{walk.job}/promise", past, seen=job["version"])) == [
            "promise-past"
        ]


def test_it_notes_the_condition_when_a_begun_job_is_taken_over(house: House, api: dict[str, Any]) -> None:
    walk = Walk(house, api).to("stripping")
    marek = {"technician": str(house.people["inspector"].uid)}

    with nothing_changes():
        assert codes(walk.api["lead"].post(f"jobs/{walk.job}/assign", marek, seen=walk.row.version)) == [
            "condition-missing"
        ]
    noted = marek | {"condition": "Ports open, nothing else loosened."}
    ok(api["lead"].post(f"jobs/{walk.job}/assign", noted, seen=walk.row.version))

    row = walk.row.takeovers.get()
    assert (row.was.name, row.now_with.name, row.leg) == ("Ines Okafor", "Marek Dunwell", "stripping")


def test_it_hands_all_jobs_of_somebody_on_in_one_step(house: House, api: dict[str, Api]) -> None:
    one, two = Walk(house, api, "first_stage").to("stripping"), Walk(house, api, "second_stage").to("cleared")
    path = f"people/{house.people['technician'].uid}/hand-on"
    given = {"technician": str(house.people["inspector"].uid), "condition": "As the sheets say."}

    ok(api["lead"].post(path, given))

    assert {walk.row.technician.name for walk in (one, two)} == {"Marek Dunwell"}  # type: ignore[union-attr]  # it was given
    with nothing_changes():
        assert codes(api["lead"].post(path, given)) == ["no-jobs"]
