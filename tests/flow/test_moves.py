"""Moving a job over both doors: one leg on, back with a reason, never past what is open."""

from typing import Any

import pytest

from jobs.flow.models import Job, Line, Move
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    moves = Move.objects.order_by("pk").values_list("from_leg", "to_leg", "back")

    assert list(moves) == [("checked_in", "cleared", False), ("cleared", "stripping", False)]
    assert walk.row.version == 4


def test_it_refuses_to_clear_without_a_go_ahead(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)

    with nothing_changes():
        answer = walk.move("cleared", role="counter")

    assert sentences(answer) == ["There is no go-ahead yet; the plans come to 95.00 GBP."]


def test_it_refuses_to_clear_with_a_go_ahead_too_low(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(walk.go_ahead("94.99"), 201)

    with nothing_changes():
        answer = walk.move("cleared", role="counter")

    assert sentences(answer) == ["The go-ahead is up to 94.99 GBP; the plans come to 95.00."]


def test_it_clears_with_a_go_ahead_of_just_the_price(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(walk.go_ahead("95.00"), 201)

    assert ok(walk.move("cleared", role="counter"))["leg"] == "cleared"


def test_it_lets_the_newest_go_ahead_hold(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    ok(walk.go_ahead("200.00"), 201)
    ok(walk.go_ahead("10.00"), 201)

    with nothing_changes():
        assert codes(walk.move("cleared", role="counter")) == ["go-ahead-too-low"]


@pytest.mark.parametrize("to", ["stripping", "cleaning", "rebuilding", "testing"])
def test_it_refuses_to_skip_a_leg(house: House, api: dict[str, Api], to: str) -> None:
    walk = Walk(house, api)

    with nothing_changes():
        assert sentences(walk.move(to)) == ["The next leg of this job is cleared."]


@pytest.mark.parametrize("to", ["signed_off", "handed_back", "disposed", "checked_in", "nowhere", ""])
def test_it_does_not_know_such_moves(house: House, api: dict[str, Api], to: str) -> None:
    walk = Walk(house, api)

    with nothing_changes():
        answer = walk.move(to)

    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/to")


def test_it_refuses_to_strip_without_a_technician(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    walk.go_ahead()
    ok(walk.move("cleared", role="counter"))

    with nothing_changes():
        assert codes(walk.move("stripping")) == ["no-technician"]


@pytest.mark.parametrize("role", ["counter", "lead"])
def test_it_begins_work_for_somebody_of_the_bench_only(house: House, api: dict[str, Api], role: str) -> None:
    """Whoever clears a job, or gives it out, does not take it apart; neither alone nor several at once."""
    walk = Walk(house, api).to("cleared")

    with nothing_changes():
        assert walk.move("stripping", role=role).status_code == 403
        assert api[role].post("jobs/move-on", {"jobs": [walk.job]}).status_code == 403
    ok(walk.move("stripping"))


@pytest.mark.parametrize("leg", ["handed_back", "disposed"])
def test_it_moves_no_ended_job_among_several(house: House, api: dict[str, Api], leg: str) -> None:
    walk = Walk(house, api)
    Job.objects.filter(uid=walk.job).update(leg=leg)

    with nothing_changes():
        assert codes(api["technician"].post("jobs/move-on", {"jobs": [walk.job]})) == ["one-by-one"]


def test_it_refuses_to_strip_gear_under_pressure_until_somebody_confirms_by_name(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api, contents="under pressure").to("cleared")
    with nothing_changes():
        answer = walk.move("stripping")
    assert sentences(answer) == ["It came under pressure: somebody must confirm by name that it is empty."]

    ok(api["technician"].post(f"jobs/{walk.job}/empty"))

    assert walk.row.line.emptied_by == house.people["technician"]
    assert ok(walk.move("stripping"))["leg"] == "stripping"


def test_it_refuses_to_confirm_empty_twice_or_what_was_never_under_pressure(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    full = Walk(house, api, contents="under pressure")
    empty = Walk(house, api, "second_stage")
    ok(api["technician"].post(f"jobs/{full.job}/empty"))

    with nothing_changes():
        assert codes(api["technician"].post(f"jobs/{full.job}/empty")) == ["not-under-pressure"]
        assert codes(api["technician"].post(f"jobs/{empty.job}/empty")) == ["not-under-pressure"]
        page = send(pages["technician"], f"/jobs/{empty.job}/empty", {})
    assert "was confirmed empty before" in said(page)


def test_it_refuses_to_go_back_without_a_reason(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes():
        answer = walk.move("rebuilding")

    assert sentences(answer) == ["Say why the job goes back."]


def test_it_refuses_to_go_back_to_the_counter_with_every_reason(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")

    with nothing_changes():
        assert codes(walk.move("cleared")) == ["not-a-working-leg", "reason-missing"]


def test_it_goes_back_with_a_reason(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("testing")

    assert ok(walk.move("rebuilding", reason="Bubbles at the yoke."))["leg"] == "rebuilding"

    assert Move.objects.get(back=True).reason == "Bubbles at the yoke."


@pytest.mark.parametrize("leg", ["stripping", "cleaning", "rebuilding", "testing"])
def test_it_refuses_to_confirm_empty_what_is_apart_already(
    house: House, api: dict[str, Api], leg: str
) -> None:
    walk = Walk(house, api).to(leg)
    Line.objects.update(contents="under pressure")

    with nothing_changes():
        assert codes(api["technician"].post(f"jobs/{walk.job}/empty")) == ["too-late"]


@pytest.mark.parametrize("leg", ["stripping", "cleaning", "rebuilding"])
def test_it_goes_no_leg_on_with_gear_that_nobody_confirmed_empty(
    house: House, api: dict[str, Api], leg: str
) -> None:
    walk = Walk(house, api).to(leg)
    walk.steps(leg)
    if leg == "cleaning":
        walk.parts()
    Line.objects.update(contents="under pressure")

    with nothing_changes():
        answer = walk.move({"stripping": "cleaning", "cleaning": "rebuilding", "rebuilding": "testing"}[leg])

    assert codes(answer) == ["under-pressure"]


def test_it_takes_up_again_what_was_closed_under_pressure_only_once_it_is_empty(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api, contents="under pressure")
    closed = {"outcome": "declined", "words": "Too dear.", "second": "", "second_secret": ""}
    ok(walk.sign(**closed), 201)

    with nothing_changes():
        answer = walk.move("stripping", reason="She changed her mind.", role="inspector")
    assert codes(answer) == ["under-pressure"]

    assert f"/jobs/{walk.job}/empty" in said(pages["technician"].get(f"/jobs/{walk.job}"), 200)
    ok(api["technician"].post(f"jobs/{walk.job}/empty"))
    ok(walk.move("stripping", reason="She changed her mind.", role="inspector"))


def test_it_looks_inside_before_it_takes_up_again_what_nobody_had_looked_into(
    house: House, api: dict[str, Api]
) -> None:
    walk = Walk(house, api, contents="not looked at")
    closed = {"outcome": "declined", "words": "Too dear.", "second": "", "second_secret": ""}
    ok(walk.sign(**closed), 201)
    assert codes(walk.move("stripping", reason="She changed her mind.", role="inspector")) == [
        "under-pressure"
    ]

    ok(api["technician"].post(f"jobs/{walk.job}/contents", {"contents": "no gas"}))

    ok(walk.move("stripping", reason="She changed her mind.", role="inspector"))


def test_it_lets_only_an_inspector_or_the_lead_open_another_round(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")

    with nothing_changes():
        assert walk.move("testing", reason="I am not sure.").status_code == 403


def test_it_refuses_to_move_a_job_that_has_ended(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("handed_back")

    with nothing_changes():
        assert codes(walk.move("testing", reason="I am not sure.")) == ["job-ended"]


def test_it_refuses_to_clear_without_a_go_ahead_on_the_page(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api)

    with nothing_changes():
        page = send(pages["counter"], f"/jobs/{walk.job}/move", {"to": "cleared", "reason": ""})

    assert "There is no go-ahead yet; the plans come to 95.00 GBP." in said(page)


def test_it_refuses_a_skip_on_the_page(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = Walk(house, api)
    path = f"/jobs/{walk.job}/move"

    with nothing_changes():
        page = send(pages["technician"], path, {"to": "testing", "reason": "in a hurry"})

    assert "The next leg of this job is cleared." in said(page)


def test_it_refuses_a_stale_page_and_keeps_what_was_typed(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("testing")
    data = {"to": "rebuilding", "reason": "Bubbles at the yoke.", "seen": "1", "once": "a-key"}

    with nothing_changes():
        page = pages["technician"].post(f"/jobs/{walk.job}/move", data)

    assert "It has been changed since you saw it" in said(page, 412)
    assert "Bubbles at the yoke." in said(page, 412)


def test_it_refuses_a_page_without_the_version_it_saw(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api)
    walk.go_ahead()

    with nothing_changes():
        page = pages["counter"].post(f"/jobs/{walk.job}/move", {"to": "cleared", "once": "a-key"})

    assert page.status_code == 412
    assert Job.objects.get().leg == "checked_in"
