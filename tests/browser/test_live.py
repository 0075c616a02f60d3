"""The page of a logging draws as samples come, outlives a lost line and a reload, and says when it is enough."""

from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.test_two_at_once import Windows, window
from tests.conftest import Api, House
from tests.live.test_logging import LINES, Logger
from tests.walk import Walk, ok

__all__ = ["window"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_it_works(house: House, api: dict[str, Api], window: Windows) -> None:
    logger = Logger(Walk(house, api).to("testing")).begun()
    page = window("technician")
    faults: list[Any] = []
    page.on("pageerror", lambda fault: faults.append(fault))
    page.goto(f"/loggings/{logger.uid}")
    live = page.locator("#live")
    expect(live).to_contain_text("Waiting for the first samples.")

    ok(logger.send(1, LINES[:60]))
    expect(live).to_contain_text("60 samples, up to 29.5 s.")
    expect(live).to_contain_text("Not enough yet.")
    expect(live.locator(".trace-line")).to_have_count(1)

    page.context.set_offline(True)
    ok(logger.send(2, LINES[60:120]))
    expect(page.locator("#live-lost")).to_be_visible()
    page.context.set_offline(False)
    expect(live).to_contain_text("120 samples")
    expect(page.locator("#live-lost")).to_be_hidden()

    page.reload()
    expect(live).to_contain_text("120 samples")
    ok(logger.send(3, LINES[120:]))
    expect(live).to_contain_text("Enough: so far within.")
    expect(page.locator("#live-said")).to_have_text("Enough has been measured.")

    page.get_by_role("button", name="End it and judge").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("within")
    assert faults == []
