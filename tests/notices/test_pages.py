"""The pages of doubts, and the ways that lead to them."""

from typing import Any

import pytest
from django.test import Client

from jobs.bench.models import Attempt
from jobs.notices.models import Doubt
from jobs.worksheet.models import StepDone
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.rows import nothing_changes, said, send
from tests.walk import Walk

WHY = "It smells of solvent."


@pytest.fixture
def tested(house: House, api: dict[str, Api]) -> Walk:
    walk = Walk(house, api).to("testing")
    walk.tests()
    return walk


def raised(walk: Walk, pages: dict[str, Client]) -> str:
    """The address of a doubt about a lot, raised on its form."""
    path = f"/office/doubts/new?lot={walk.house.lots['TH-302'].uid}"
    answer = send(pages["technician"], path, {"why": WHY})
    assert answer.status_code == 302, answer.content
    return str(answer["Location"])


def test_it_works(tested: Walk, pages: dict[str, Client]) -> None:
    assert "Nothing is doubted." in said(pages["lead"].get("/office/doubts"), 200)

    path = raised(tested, pages)

    page = said(pages["lead"].get(path), 200)
    assert "Doubt: lot TH-302-A of part TH-302" in page
    assert "Here: stopped until it is answered" in page
    assert "Call list" not in page
    assert f"Tray {tested.row.number}" in page
    listed = said(pages["lead"].get("/office/doubts"), 200)
    assert "0 of 1 answered" in listed
    assert "1 open" in said(pages["lead"].get("/office"), 200)
    job = said(pages["technician"].get(f"/jobs/{tested.job}"), 200)
    assert f'href="{path}"' in job
    assert "Lift this hold" not in job
    assert "Refusal(" not in job
    uid = Doubt.objects.get().affected.get().uid
    given = {"became": "stands", "words": "The lot is as it should be."}
    send(pages["inspector"], f"/office/affected/{uid}/answer", given)
    assert "1 open" not in said(pages["lead"].get("/office"), 200)
    assert "answered, 1 of 1" in said(pages["lead"].get("/office/doubts"), 200)


@pytest.mark.parametrize("role", ["technician", "inspector", "lead", "counter", "storekeeper"])
def test_it_leads_from_what_may_be_doubted(tested: Walk, pages: dict[str, Client], role: str) -> None:
    house, attempt, step = tested.house, Attempt.objects.order_by("-pk")[0], StepDone.objects.all()[0]
    ways = {
        f"/attempts/{attempt.uid}": f"attempt={attempt.uid}",
        f"/jobs/{tested.job}?step={step.key}": f"step={step.uid}",
        "/office/instruments": f"instrument={house.instruments['torque wrench'].uid}",
        "/office/people": f"person={house.people['technician'].uid}",
        "/store": f"lot={house.lots['TH-302'].uid}",
        f"/office/plans/{house.plans['first_stage'].uid}": f"plan_version={house.plans['first_stage'].uid}",
    }
    may = role in ("technician", "inspector", "lead")

    for path, query in ways.items():
        page = said(pages[role].get(path), 200)
        assert (f'href="/office/doubts/new?{query}"' in page) is may, path
        assert "Why it is doubted" in said(pages[role].get(f"/office/doubts/new?{query}"), 200)


def test_it_asks_for_a_period_where_it_is_one(tested: Walk, pages: dict[str, Client]) -> None:
    path = f"/office/doubts/new?person={tested.house.people['technician'].uid}"

    with nothing_changes():
        page = send(pages["lead"], path, {"why": WHY, "from_day": "", "to_day": "2026-01-01"})
    assert page.status_code == 400
    assert "Say the period" in said(page, 400)
    assert "Ines Okafor" in said(page, 400)
    day = today().isoformat()
    answer = send(pages["lead"], path, {"why": WHY, "from_day": day, "to_day": day})

    assert answer.status_code == 302
    assert Doubt.objects.get().affected.get().job == tested.row


def test_it_says_where_to_go_without_a_subject(pages: dict[str, Client]) -> None:
    assert "Open what you doubt first." in said(pages["lead"].get("/office/doubts/new"), 200)
    with nothing_changes():
        page = pages["lead"].post("/office/doubts/new", {"why": WHY})
    assert "Say the one thing that is doubted." in said(page, 400)


@pytest.mark.parametrize("query", ["lot=nonsense", "lot=%00", f"lot={'1' * 32}", "attempt=%F0%9F"])
def test_it_finds_no_such_subject(pages: dict[str, Client], query: str) -> None:
    assert pages["lead"].get(f"/office/doubts/new?{query}").status_code == 404


def test_it_keeps_what_was_typed_when_it_is_refused(tested: Walk, pages: dict[str, Client]) -> None:
    raised(tested, pages)
    path = f"/office/doubts/new?lot={tested.house.lots['TH-302'].uid}"

    with nothing_changes():
        page = said(send(pages["lead"], path, {"why": "Raised by somebody else too."}))

    assert "stands open already: It smells of solvent." in page
    assert "Raised by somebody else too." in page


def test_it_closes_what_touched_nothing(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    walk: Any = Walk(house, api)
    path = raised(walk, pages)

    assert "No job rests on it" in said(pages["lead"].get(path), 200)
    assert "Answer it" not in said(pages["technician"].get(path), 200)
    send(pages["lead"], f"{path}/answer", {"words": "Nothing of it was used."})

    assert "Nothing of it was used." in said(pages["lead"].get(path), 200)
