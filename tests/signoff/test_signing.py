"""Signing a round off: outcome, secrets, second person, and everything that must be well for "serviced"."""

import json
from datetime import timedelta
from typing import Any

import pytest

from jobs.flow.models import Job
from jobs.signoff.models import SignOff
from shop.catalogue.actions import issue_plan
from shop.clocks.models import Restart
from shop.journal.rules import canonical, sha256
from shop.staff.models import Authorisation, Person
from shop.workshop.reads import today
from tests.conftest import SECRET, Api, House
from tests.plans import document
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok


def lapse(house: House, role: str) -> None:
    """From today on somebody is authorised for nothing."""
    yesterday = today() - timedelta(days=1)
    Authorisation.objects.filter(person=house.people[role]).update(last_day=yesterday)


@pytest.fixture
def tested(house: House, api: dict[str, Api]) -> Walk:
    """A first stage whose tests are all within."""
    walk = Walk(house, api).to("testing")
    walk.tests()
    return walk


def test_it_works(tested: Walk) -> None:
    body = ok(tested.sign(), 201)

    row = SignOff.objects.get()
    assert (body["outcome"], body["signer"], body["second"]) == ("serviced", "Ines Okafor", "Marek Dunwell")
    assert row.digest == sha256(row.record) == body["digest"]
    assert row.record == canonical(json.loads(row.record))
    assert tested.row.leg == "signed_off"
    assert Restart.objects.get().cause == f"job:{tested.job}:1"


def test_it_is_not_serviced_while_a_step_of_testing_stands_open(house: House, api: dict[str, Api]) -> None:
    asked = document()
    wash = next(step for step in asked["steps"] if step["key"] == "wash")
    asked["steps"].append(wash | {"key": "look_over", "leg": "testing", "title": "Look it over"})
    lead, model = house.people["lead"], house.models["first_stage"]
    house.plans["first_stage"] = issue_plan(by=lead, model=model, key="looked_over", document=asked)
    walk = Walk(house, api).to("testing")
    walk.tests()

    with nothing_changes():
        assert codes(walk.sign()) == ["step-open"]

    ok(walk.step("look_over"), 201)
    ok(walk.sign(), 201)


def test_it_keeps_no_secret(tested: Walk) -> None:
    body = tested.sign()

    assert SECRET not in body.content.decode()
    assert SECRET not in SignOff.objects.get().record


@pytest.mark.parametrize(
    ("given", "found", "pointer"),
    [
        ({"secret": "signed with a crayon"}, "wrong-secret", "/secret"),
        ({"second_secret": "signed with a crayon"}, "wrong-secret", "/second_secret"),
        ({"second_secret": ""}, "wrong-secret", "/second_secret"),
        ({"second": None, "second_secret": ""}, "second-missing", "/second"),
    ],
)
def test_it_refuses_a_wrong_secret_and_a_missing_second_person(
    tested: Walk, given: dict[str, Any], found: str, pointer: str
) -> None:
    with nothing_changes():
        answer = tested.sign(**given)

    assert codes(answer) == [found]
    assert answer.json()["errors"][0]["pointer"] == pointer


def test_it_refuses_the_signer_as_second_person(tested: Walk) -> None:
    with nothing_changes():
        answer = tested.sign(second=str(tested.house.people["technician"].uid))

    assert sentences(answer) == ["The second person must be somebody else."]


def test_it_refuses_a_second_person_who_may_not_sign(tested: Walk) -> None:
    with nothing_changes():
        answer = tested.sign(second=str(tested.house.people["counter"].uid))

    assert codes(answer) == ["second-may-not", "not-authorised"]


def test_it_refuses_a_second_person_who_is_not_authorised_for_the_gear(tested: Walk) -> None:
    lapse(tested.house, "inspector")

    with nothing_changes():
        answer = tested.sign()

    assert sentences(answer) == [
        f"Marek Dunwell is not authorised for a first stage by Tarnwell on {today()}."
    ]


def test_it_keeps_by_which_authorisation_each_of_the_two_signed(tested: Walk) -> None:
    last = today() + timedelta(days=30)
    Authorisation.objects.filter(person=tested.house.people["inspector"]).update(last_day=last)
    ok(tested.sign(), 201)

    row = SignOff.objects.get()

    assert row.authorisation == "Tarnwell, any kind of gear, no last day"
    assert row.second_authorisation == f"Tarnwell, any kind of gear, to {last}"
    assert json.loads(row.record)["signed"]["second_authorisation"] == row.second_authorisation


def test_it_does_not_know_a_second_person_who_has_left(tested: Walk) -> None:
    Person.objects.filter(pk=tested.house.people["inspector"].pk).update(is_active=False)

    with nothing_changes():
        assert tested.sign().status_code == 400


def test_it_tells_every_reason_at_once(tested: Walk) -> None:
    with nothing_changes():
        answer = tested.sign(outcome="failed", secret="x", second_secret="y")

    assert codes(answer) == ["wrong-secret", "words-missing", "wrong-secret"]


def test_it_tells_what_every_room_has_against_serviced_at_once(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    ok(walk.trace("creep_0p10"), 201)
    lapse(house, "technician")
    counter = str(house.people["counter"].uid)

    with nothing_changes():
        answer = walk.sign(secret="x", second=counter, second_secret="y")

    assert [(error["code"], error["pointer"]) for error in answer.json()["errors"]] == [
        ("wrong-secret", "/secret"),
        ("not-authorised", ""),
        ("second-may-not", "/second"),
        ("not-authorised", ""),
        ("wrong-secret", "/second_secret"),
        ("not-authorised", ""),
        ("not-within", ""),
        ("not-tested", ""),
        ("not-tested", ""),
    ]
    assert answer.status_code == 409


def test_it_refuses_a_wrong_secret_on_the_page_and_never_shows_it_again(
    tested: Walk, pages: dict[str, Any]
) -> None:
    data = {
        "outcome": "serviced",
        "words": "All well.",
        "secret": "signed with a crayon",
        "second": str(tested.house.people["inspector"].uid),
        "second_secret": SECRET,
    }

    with nothing_changes():
        page = send(pages["technician"], f"/jobs/{tested.job}/sign-off", data)

    assert "That is not the signing secret of Ines Okafor." in said(page)
    assert "All well." in said(page)
    assert "crayon" not in said(page)
    assert SECRET not in said(page)


def test_it_refuses_an_outside_verdict_on_the_page(tested: Walk, pages: dict[str, Any]) -> None:
    ok(tested.trace("creep_0p10", why="The hose moved."), 201)
    inspector = str(tested.house.people["inspector"].uid)
    data = {"outcome": "serviced", "secret": SECRET, "second": inspector, "second_secret": SECRET}

    with nothing_changes():
        page = send(pages["technician"], f"/jobs/{tested.job}/sign-off", data)

    assert "Intermediate pressure at 200 bar: the verdict is outside." in said(page)


def test_it_signs_on_the_page(tested: Walk, pages: dict[str, Any]) -> None:
    inspector = str(tested.house.people["inspector"].uid)
    data = {"outcome": "serviced", "secret": SECRET, "second": inspector, "second_secret": SECRET}

    page = send(pages["technician"], f"/jobs/{tested.job}/sign-off", data)

    assert page["Location"] == f"/records/{SignOff.objects.get().uid}"


def test_it_needs_no_second_person_where_the_plan_asks_for_none(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api, "second_stage").to("testing")
    walk.tests()

    ok(walk.sign(second=None, second_secret=""), 201)


def test_it_refuses_serviced_before_testing(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        assert sentences(walk.sign()) == ["The next leg of this job is cleaning."]


def test_it_refuses_serviced_with_a_test_missing(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")
    ok(walk.trace(), 201)
    ok(walk.reading("low_supply", "9.42"), 201)

    with nothing_changes():
        assert sentences(walk.sign()) == [
            "Supply pressure lost in a minute, valve shut: no final test counts."
        ]


@pytest.mark.parametrize("outcome", ["failed", "beyond repair", "condemned", "declined"])
def test_it_closes_from_stripping_with_another_outcome_and_restarts_no_clock(
    house: House, api: dict[str, Api], outcome: str
) -> None:
    walk = Walk(house, api).to("stripping")

    body = ok(walk.sign(outcome=outcome, words="The seat bore is scored."), 201)

    assert (body["outcome"], body["words"]) == (outcome, "The seat bore is scored.")
    assert walk.row.leg == "signed_off"
    assert not Restart.objects.exists()
    assert walk.item.clocks.get().due is None


def test_it_refuses_another_outcome_without_words(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    with nothing_changes():
        assert sentences(walk.sign(outcome="failed")) == ["Say what was found."]


@pytest.mark.parametrize("outcome", ["serviced", "failed"])
def test_it_refuses_to_sign_a_closed_round_again(house: House, api: dict[str, Api], outcome: str) -> None:
    walk = Walk(house, api).to("signed_off")

    with nothing_changes():
        assert codes(walk.sign(outcome=outcome, words="Again.")) == ["already-there"]


def test_it_refuses_a_stale_sign_off(tested: Walk) -> None:
    seen = tested.row.version
    marek = {"technician": str(tested.house.people["inspector"].uid), "condition": "Tested."}
    ok(tested.api["lead"].post(f"jobs/{tested.job}/assign", marek, seen=seen))

    with nothing_changes():
        data = {"outcome": "failed", "words": "No.", "secret": SECRET}
        answer = tested.api["technician"].post(f"jobs/{tested.job}/sign-offs", data, seen=seen)

    assert (answer.status_code, answer.json()["type"]) == (412, "/problems/stale")
    assert Job.objects.get().version == seen + 1


def test_it_leaves_signing_to_those_who_may(tested: Walk) -> None:
    with nothing_changes():
        assert codes(tested.sign("counter"), 403) == []
        assert codes(tested.sign("lead"), 403) == []
