"""Holds: why a job stays where it is, and who lets it go."""

from typing import Any

import pytest

from jobs.flow.models import Hold
from tests.conftest import SECRET, Api, House
from tests.rows import codes, nothing_changes, pointers, said, send
from tests.walk import EVIDENCE, Walk, ok


def held(walk: Walk, kind: str, role: str = "technician") -> dict[str, Any]:
    given = {"kind": kind, "why": "It waits for a seat."}
    made: dict[str, Any] = ok(walk.api[role].post(f"jobs/{walk.job}/holds", given), 201)
    return made


def evidence(walk: Walk) -> dict[str, Any]:
    made: dict[str, Any] = ok(walk.api["counter"].post(f"items/{walk.item.uid}/evidence", EVIDENCE), 201)
    return made


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    hold = held(walk, "parts")
    walk.steps("stripping")
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    walk.parts()

    with nothing_changes():
        assert codes(walk.move("rebuilding")) == ["held-parts"]
    ok(api["technician"].post(f"holds/{hold['uid']}/lift", {"why": "The seats have come."}))
    ok(walk.move("rebuilding"))

    row = Hold.objects.get()
    assert (row.lifted_by.name, row.lifted_why) == ("Ines Okafor", "The seats have come.")  # type: ignore[union-attr]  # it was lifted


def test_it_shows_every_hold_on_the_sheet(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = Walk(house, api).to("stripping")
    held(walk, "parts")
    held(walk, "customer")

    page = said(pages["technician"].get(f"/jobs/{walk.job}"), 200)

    assert page.count("Lift this hold") == 2
    assert "on hold, parts" in page
    assert [hold["kind"] for hold in ok(api["lead"].get(f"jobs/{walk.job}"))["holds"]] == [
        "parts",
        "customer",
    ]


@pytest.mark.parametrize("kind", ["doubt", "notice", "weather"])
def test_it_takes_no_hold_that_something_else_puts(house: House, api: dict[str, Api], kind: str) -> None:
    walk = Walk(house, api)

    with nothing_changes():
        answer = api["lead"].post(f"jobs/{walk.job}/holds", {"kind": kind, "why": "So."})

    assert pointers(answer) == ["/kind"]


def test_it_lifts_a_hold_once(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    hold = held(walk, "other")
    ok(api["counter"].post(f"holds/{hold['uid']}/lift", {"why": "Settled."}))

    with nothing_changes():
        assert codes(api["counter"].post(f"holds/{hold['uid']}/lift", {"why": "Again."})) == ["lifted-before"]


def test_it_stops_all_work_on_evidence(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")
    evidence(walk)

    with nothing_changes():
        assert codes(walk.step("ports")) == ["held-evidence"]
        assert codes(walk.move("cleaning"))[0] == "held-evidence"
        assert codes(walk.sign(outcome="declined", words="So.")) == ["held-evidence"]


def test_it_hands_no_evidence_back(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("signed_off")
    evidence(walk)

    with nothing_changes():
        assert codes(walk.hand_back()) == ["held-evidence"]
        custody = {"where": "outside", "holder": "Aldermouth Test House"}
        line = walk.row.line.uid
        assert codes(api["counter"].post(f"lines/{line}/custody", custody)) == ["held-evidence"]


def test_it_releases_evidence_by_the_lead_and_another(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    walk = Walk(house, api).to("signed_off")
    hold = evidence(walk)
    path, why = f"holds/{hold['uid']}/lift", "The coroner has closed the case."
    marek = {"second": str(house.people["inspector"].uid), "second_secret": SECRET}

    blank = pages["lead"].get(f"/{path}")
    assert blank.context["title"] == "Release this evidence"
    assert [field.required for field in blank.context["form"].fields] == [True, True, True]
    with nothing_changes():
        assert api["inspector"].post(path, {"why": why} | marek).status_code == 403
        assert codes(api["lead"].post(path, {"why": why})) == ["second-missing"]
        ada = {"second": str(house.people["lead"].uid), "second_secret": SECRET}
        assert codes(api["lead"].post(path, {"why": why} | ada)) == ["second-missing"]
        wrong = marek | {"second_secret": "not the secret"}
        assert codes(api["lead"].post(path, {"why": why} | wrong)) == ["wrong-secret"]
    ok(api["lead"].post(path, {"why": why} | marek))

    ok(walk.hand_back(), 201)


def test_it_keeps_an_item_without_a_job_as_evidence(
    house: House, api: dict[str, Api], pages: dict[str, Any]
) -> None:
    item = house.item()

    send(pages["counter"], f"/items/{item.uid}/evidence", EVIDENCE)

    row = Hold.objects.get()
    assert (row.item, row.job, row.kind) == (item, None, "evidence")
