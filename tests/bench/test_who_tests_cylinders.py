"""Whether this workshop may pressure-test cylinders, or only records an outside station's certificate."""

from typing import Any

import pytest

from jobs.bench.models import Attempt
from shop.journal.models import Entry
from tests.bench.test_figures import JACKET, brought, tried
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send, sentences
from tests.walk import Walk, ok

STATION = {"station": "Aldermouth Test House", "certificate": "ATH-118"}
NEEDS = "expansion device"


@pytest.fixture
def cylinder(house: House, api: dict[str, Api]) -> Walk:
    return brought(house, api, "cylinder", "cylinder_pressure_test", NEEDS, "ml", "0.1")


def test_it_works(cylinder: Walk) -> None:
    """Until the lead says otherwise a measurement of our own is refused, and a certificate is taken."""
    with nothing_changes():
        answer = tried(cylinder, "expansion", JACKET, NEEDS)
    assert codes(answer) == ["not-a-test-station"]
    assert sentences(answer) == [
        "This workshop does not test cylinders itself: record the outside station and its certificate."
    ]
    given = {"phase": "final", "figures": JACKET} | STATION

    body = ok(cylinder.api["technician"].post(f"jobs/{cylinder.job}/tests/expansion", given), 201)

    assert (body["verdict"], body["certificate"], body["instrument"]) == ("within", "ATH-118", None)


def test_it_refuses_a_finding_of_our_own_that_the_pressure_was_held(cylinder: Walk) -> None:
    given = {"phase": "final", "finding": "pass"}
    path = f"jobs/{cylinder.job}/tests"

    with nothing_changes():
        assert codes(cylinder.api["technician"].post(f"{path}/held", given)) == ["not-a-test-station"]
    ok(cylinder.api["technician"].post(f"{path}/held", given | STATION), 201)
    ok(
        cylinder.api["technician"].post(f"{path}/visual", given), 201
    )  # no pressure test: anybody who inspects


def test_it_is_a_setting_that_the_pages_show(cylinder: Walk, pages: dict[str, Any]) -> None:
    test, office = f"/jobs/{cylinder.job}/tests/expansion", "/office/instruments"
    page = said(pages["technician"].get(test), 200)
    assert "This workshop does not test cylinders itself." in page
    assert 'name="instrument"' not in page
    assert 'name="certificate"' in page
    assert "<b>an outside station</b>" in said(pages["technician"].get(office), 200)

    answer = send(pages["lead"], "/office/cylinder-tests", {"tested_by": "ourselves"})

    assert (answer.status_code, answer["Location"]) == (302, office)
    assert "<b>ourselves</b>" in said(pages["technician"].get(office), 200)
    assert 'name="instrument"' in said(pages["technician"].get(test), 200)
    assert Entry.objects.filter(subject="workshop", verb="settings changed").count() == 1
    ok(tried(cylinder, "expansion", JACKET, NEEDS), 201)
    assert Attempt.objects.count() == 1


def test_it_is_the_leads_to_say(house: House, api: dict[str, Api]) -> None:
    with nothing_changes():
        assert api["inspector"].post("cylinder-tests", {"tested_by": "ourselves"}).status_code == 403
    assert ok(api["inspector"].get("cylinder-tests")) == {"tested_by": "an outside station"}
