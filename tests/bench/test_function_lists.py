"""A list of functions through the doors: named by the plan, tried one by one, judged and kept."""

from typing import Any

import pytest
from django.core.management import call_command

from jobs.bench.models import Attempt
from shop.catalogue.actions import issue_plan
from shop.catalogue.rules import plan_refusals, read_plan
from tests.conftest import Api, House
from tests.plans import document
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok

TEST = {
    "key": "function", "title": "Function", "method": "function list", "repeat": "last", "needs": "", "bounds": [],
    "words": "Try each.",
    "functions": [
        {"key": "inflates", "title": "It inflates", "unit": "", "words": "By the button."},
        {"key": "exhausts", "title": "It exhausts"},
    ],
}  # fmt: skip
BOUND = {
    "quantity": "opens", "label": "opening pressure", "unit": "mbar", "low": "100", "high": "200",
    "decision": "guarded", "source": "The test's own rule.",
}  # fmt: skip
RELIEF = TEST | {
    "key": "relief", "title": "Relief", "needs": "low-pressure gauge", "bounds": [BOUND],
    "functions": [{"key": "opens", "title": "The valve opens", "unit": "mbar"}],
}  # fmt: skip


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A job on its tests, which are two lists: one by eye, one with a figure."""
    plan = house.plans["first_stage"]
    house.plans["first_stage"] = issue_plan(
        by=house.people["lead"],
        model=house.models["first_stage"],
        key="overhaul",
        document=plan.document | {"tests": [TEST, RELIEF]},
    )
    found = Walk(house, api).to("testing")
    found.steps("testing")
    return found


def tried(walk: Walk, key: str, **figures: str) -> Any:
    gauge = str(walk.house.instruments["low-pressure gauge"].uid) if key == "relief" else None
    given = {"phase": "final", "figures": figures, "instrument": gauge}
    return walk.api["technician"].post(f"jobs/{walk.job}/tests/{key}", given)


def test_it_works(walk: Walk, pages: dict[str, Any]) -> None:
    by_eye = ok(tried(walk, "function", inflates="pass", exhausts="not fitted"), 201)
    relief = ok(tried(walk, "relief", opens="pass", opens_figure="0.15 bar"), 201)

    assert (by_eye["verdict"], relief["verdict"]) == ("within", "within")
    call_command("bench", "recompute")  # by the functions and the instrument that each keeps
    row = Attempt.objects.get(uid=by_eye["uid"])
    assert (row.by_eye, row.instrument) == (True, None)
    page = said(pages["technician"].get(f"/attempts/{relief['uid']}"), 200)
    assert "Function by function" in page
    assert "MG-1" in page
    assert "149" in page
    page = said(pages["technician"].get(f"/attempts/{by_eye['uid']}"), 200)
    assert "It exhausts: not fitted." in page
    assert "Judged by eye." in page
    ok(walk.sign(), 201)


@pytest.mark.parametrize(
    ("figures", "verdict"),
    [
        ({"inflates": "pass", "exhausts": "fail"}, "outside"),
        ({"inflates": "pass"}, "inconclusive"),
    ],
)
def test_it_lets_nothing_go_that_failed_or_was_not_tried(
    walk: Walk, figures: dict[str, str], verdict: str
) -> None:
    ok(tried(walk, "relief", opens="pass", opens_figure="150"), 201)

    assert ok(tried(walk, "function", **figures), 201)["verdict"] == verdict
    with nothing_changes():
        assert codes(walk.sign()) == ["not-within"]


def test_it_is_filled_in_on_a_page(walk: Walk, pages: dict[str, Any]) -> None:
    page = said(pages["technician"].get(f"/jobs/{walk.job}/tests/function"), 200)
    assert "By the button." in page

    answer = send(
        pages["technician"],
        f"/jobs/{walk.job}/tests/function",
        {"phase": "final", "figures.inflates": "pass", "figures.exhausts": "pass"},
    )

    assert answer.status_code == 302
    assert Attempt.objects.get().verdict == "within"


def test_it_refuses_a_word_that_is_none(walk: Walk) -> None:
    with nothing_changes():
        assert codes(tried(walk, "function", inflates="fine")) == ["bad-figure"]
        assert codes(tried(walk, "relief", opens="not fitted", opens_figure="150")) == ["bad-figure"]


def test_it_reads_a_figure_with_an_instrument_only(walk: Walk) -> None:
    given = {"phase": "final", "figures": {"opens": "pass", "opens_figure": "150"}}

    with nothing_changes():
        answer = walk.api["technician"].post(f"jobs/{walk.job}/tests/relief", given)

    assert codes(answer) == ["instrument-missing"]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"functions": []}, "plan-function"),
        ({"method": "finding"}, "plan-function"),
        ({"functions": TEST["functions"] * 2}, "plan-double"),  # type: ignore[operator]  # a list, but mypy sees an object
        (
            {
                "needs": "low-pressure gauge",
                "functions": [{"key": "a", "title": "A", "unit": "mbar"}, {"key": "a_figure", "title": "B"}],
            },
            "plan-double",
        ),
        ({"functions": [{"key": "a", "title": "A", "unit": "mbar"}]}, "plan-instrument"),
        ({"bounds": [BOUND], "needs": "low-pressure gauge"}, "plan-limit"),
    ],
)
def test_it_refuses_a_list_that_does_not_hang_together(changes: dict[str, Any], code: str) -> None:
    made = document()
    made["tests"] = [TEST | changes]

    assert {refusal.code for refusal in plan_refusals(read_plan(made))} == {code}
