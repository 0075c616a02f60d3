"""Every page of the demo workshop in Chromium at phone, tablet and desk size: axe, no sideways scrolling.

With EBBWRIGHT_PICTURES set to a folder, a picture of each page is kept there.
"""

import os
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings as django_settings
from django.db import connection
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse
from playwright.sync_api import Browser

from jobs.demand.management.commands.demo import build
from jobs.reminders.actions import remind
from shop.customers.models import Customer
from shop.staff.models import Person
from shop.workshop.reads import at, noon
from tests.browser.demo_rows import add_to_the_demo, rows_of_the_demo
from tests.conftest import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1280, 900)}
PAPERS = {"ticket", "bag_tags", "item_tag", "blank_sheet", "record_paper", "do_not_dive", "hand_back_slip"}
# The library's second names for pages of ours, and pages that lead on until somebody has a second factor.
TWICE = {"account_login", "mfa_index"}
WITH_FACTOR = {
    "mfa_authenticate", "mfa_reauthenticate", "mfa_deactivate_totp", "mfa_view_recovery_codes",
    "mfa_generate_recovery_codes",
}  # fmt: skip
NOT_PAGES = {"front", "favicon", "sign_out", "photograph"} | PAPERS | TWICE | WITH_FACTOR


def addresses() -> dict[str, str]:
    """Each page's name and an address of it in the demo workshop; a page that is not listed fails."""
    subjects = rows_of_the_demo()
    names = {
        each.name
        for include in get_resolver().url_patterns
        for each in getattr(include, "url_patterns", [include])
        if isinstance(each, URLPattern) and each.name and getattr(include, "namespace", None) is None
    }
    return {name: reverse(name, args=subjects.get(name, [])) for name in sorted(names - NOT_PAGES)}


def session_of(person: Person, site: str) -> Any:
    """The cookie of somebody who has signed in, and has typed their password once more."""
    client = Client()
    person.set_password(PASSWORD)
    person.save()
    client.force_login(person)
    assert client.post("/you/confirm", {"password": PASSWORD}).status_code == 302
    name = django_settings.SESSION_COOKIE_NAME
    return {"name": name, "value": client.cookies[name].value, "url": site}


@pytest.mark.skipif(connection.vendor == "postgresql", reason="a page looks the same on both engines")
def test_it_works(browser: Browser, site: str) -> None:
    build()
    lead = Person.objects.get(email="ada@aldermouth.example")
    add_to_the_demo(lead)
    due = Customer.objects.get(name="Rowan Achterberg").items.order_by("pk")[0].clocks.get().due
    assert due is not None
    with at(noon(due)):
        remind(on=due)
    faults = []
    pages = addresses()
    for size, (width, height) in SIZES.items():
        context = browser.new_context(viewport={"width": width, "height": height})
        page = context.new_page()
        page.goto(site + pages["sign_in"])
        faults += [f"sign_in at {size}: {fault}" for fault in looked_at(page)]
        picture(page, "sign_in", size)
        context.add_cookies([session_of(lead, site)])
        for name, address in pages.items():
            if name == "sign_in":
                continue
            answer = page.goto(site + address)
            assert answer is not None
            if answer.status != 200 or page.url != site + address:
                faults.append(f"{name}: {answer.status} at {page.url}")
            faults += [f"{name} at {size}: {fault}" for fault in looked_at(page)]
            picture(page, name, size)
        context.close()
    assert faults == []
    assert len(pages) >= 40


def looked_at(page: Any) -> list[str]:
    """What is wrong with the page that is shown."""
    found = [violation["id"] for violation in Axe().run(page).response["violations"]]
    if page.evaluate("() => document.documentElement.scrollWidth > window.innerWidth"):
        found.append("scrolls sideways")
    return found


def picture(page: Any, name: str, size: str) -> None:
    """Keep a picture when a folder for them is given."""
    if folder := os.environ.get("EBBWRIGHT_PICTURES"):
        page.screenshot(path=Path(folder) / f"{name}-{size}.png", full_page=True)
