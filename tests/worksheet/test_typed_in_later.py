"""A sheet filled in by hand and typed in later: who did it and when stand beside who recorded it and when."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from jobs.flow.shapes import WorkIn
from jobs.tray.models import TrayPart
from jobs.worksheet.models import StepDone
from shop.workshop.models import Workshop
from shop.workshop.reads import now
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A first stage that is being stripped."""
    return Walk(house, api).to("stripping")


def test_it_works(walk: Walk) -> None:
    early = now() - timedelta(seconds=1)
    walk.row.drop_off.__class__.objects.update(at=now() - timedelta(hours=3))
    marek = {"done_by": str(walk.house.people["inspector"].uid), "done_at": early.isoformat()}

    ok(walk.step("ports", **marek), 201)
    ok(walk.api["technician"].post(f"jobs/{walk.job}/parts/port_plugs", {"ending": "reused"} | marek), 201)

    row, part = StepDone.objects.get(), TrayPart.objects.get()
    assert (row.done_by.name, row.recorded_by.name) == ("Marek Dunwell", "Ines Okafor")
    assert (row.done_at, row.done_at < row.recorded_at) == (early, True)
    assert (part.by.name, part.recorded_by.name, part.at) == ("Marek Dunwell", "Ines Okafor", early)


def test_it_takes_a_time_without_an_offset_as_the_workshops_own(walk: Walk) -> None:
    Workshop.objects.update(zone="Pacific/Auckland")
    field = WorkIn().fields["done_at"]

    assert field.run_validation("2026-01-15T09:30") == datetime(2026, 1, 14, 20, 30, tzinfo=UTC)
    assert field.run_validation("2026-01-15T09:30Z") == datetime(2026, 1, 15, 9, 30, tzinfo=UTC)


def test_it_records_nothing_from_before_the_drop_off_or_from_later_than_now(walk: Walk) -> None:
    with nothing_changes():
        later = (now() + timedelta(minutes=5)).isoformat()
        assert codes(walk.step("ports", done_at=later)) == ["in-the-future"]
        assert codes(walk.step("ports", done_at="2001-01-01T12:00:00Z")) == ["before-drop-off"]


def test_it_judges_the_authorisation_of_who_did_it(walk: Walk) -> None:
    bryn = {"done_by": str(walk.house.people["counter"].uid)}

    with nothing_changes():
        assert codes(walk.step("ports", **bryn)) == ["not-authorised", "not-a-technician"]


def test_it_omits_a_step_with_a_reason(walk: Walk, pages: dict[str, Any]) -> None:
    for key in ("yoke", "spring", "diaphragm", "seat"):
        ok(walk.step(key), 201)

    page = send(
        pages["technician"], f"/jobs/{walk.job}/steps/ports", {"omitted": "The plugs are seized; asked."}
    )

    assert page.status_code == 302
    sheet = said(pages["technician"].get(f"/jobs/{walk.job}?step=ports"), 200)
    assert "The plugs are seized; asked." in sheet
    assert "Port plug" not in sheet.partition('id="tray"')[2].partition("</section>")[0]
    ok(walk.move("cleaning"))
    walk.steps("cleaning")
    for part in walk.row.plan.parts:
        if part.key != "port_plugs":
            ok(walk.end(part.key), 201)
    ok(walk.move("rebuilding"))


def test_it_neither_counts_nor_torques_what_it_omits(walk: Walk) -> None:
    with nothing_changes():
        assert codes(walk.step("ports", omitted="So.")) == ["omitted"]
