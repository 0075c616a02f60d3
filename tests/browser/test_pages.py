"""Every page of the demo workshop in Chromium at phone, tablet and desk size: axe, no sideways scrolling.

With EBBWRIGHT_PICTURES set to a folder, a picture of each page is kept there.
"""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings as django_settings
from django.db import connection
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse
from playwright.sync_api import Browser, Page, ViewportSize

from jobs.demo.management.commands.demo import build
from jobs.reminders.actions import remind
from shop.catalogue.models import Model
from shop.clocks.models import Clock
from shop.customers.models import Customer
from shop.gear.models import GearSet, Identifier
from shop.staff.actions import first_lead
from shop.staff.models import Person
from shop.stock.models import Part
from shop.workshop.actions import open_workshop
from shop.workshop.reads import at, noon
from tests.browser.demo_rows import add_to_the_demo, first, rows_of_the_demo
from tests.conftest import PASSWORD, SECRET

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1280, 900)}
if connection.vendor != "sqlite":
    del (
        SIZES["tablet"],
        SIZES["desk"],
    )  # the width does not ask which engine there is, and looking takes minutes
PAPERS = {
    "ticket",
    "bag_tags",
    "ticket_and_tags",
    "item_tag",
    "lot_label",
    "lot_labels",
    "bin_label",
    "blank_sheet",
    "bench_sheet",
    "record_paper",
    "do_not_dive",
    "hand_back_slip",
    "ticket_by_link",
    "record_by_link",
    "order_paper",
    "estimate_paper",
    "bill_paper",
}
# The library's second names for pages of ours, and pages that lead on until somebody has a second factor.
TWICE = {"account_login", "mfa_index"}
WITH_FACTOR = {
    "mfa_authenticate", "mfa_reauthenticate", "mfa_deactivate_totp", "mfa_view_recovery_codes",
    "mfa_generate_recovery_codes",
}  # fmt: skip
LISTS = [
    "counter",
    "bench",
    "store",
    "orders",
    "suppliers",
    "value",
    "models",
    "instruments",
    "doubts",
    "notices",
    "letters",
    "lent",
    "questions",
    "unreached",
    "tokens",
    "reckoning",
    "supplements",
]
NOT_PAGES = (
    {
        "front",
        "favicon",
        "sign_out",
        "photograph",
        "shared_picture",
        "document",
        "alive",
        "ready",
        "logging_drawn",
        "trace_file",
        "value_file",
        "order_file",
        "books_file",
        "published_keys",
        "signed_record",
        "notice_csv",
        "notice_json",
        "due_calendar",
    }
    | PAPERS
    | TWICE
    | WITH_FACTOR
)


def addresses() -> dict[str, str]:
    """Each page's name and an address of it in the demo workshop; a page that is not listed fails."""
    subjects = rows_of_the_demo()
    names = {
        each.name
        for include in get_resolver().url_patterns
        for each in getattr(include, "url_patterns", [include])
        if isinstance(each, URLPattern) and each.name and getattr(include, "namespace", None) is None
    }
    found = {name: reverse(name, args=subjects.get(name, [])) for name in sorted(names - NOT_PAGES)}
    return found | {"bench_of_everybody": f"{reverse('bench')}?of=everybody"}


def session_of(person: Person, site: str) -> Any:
    """The cookie of somebody who has signed in, and has typed their password once more."""
    client = Client()
    person.set_password(PASSWORD)
    person.save()
    client.force_login(person)
    assert client.post("/you/confirm", {"password": PASSWORD}).status_code == 302
    name = django_settings.SESSION_COOKIE_NAME
    return {"name": name, "value": client.cookies[name].value, "url": site}


def demo() -> Person:
    """The demo workshop with what it lacks, and its lead."""
    build(years=0)
    lead = Person.objects.get(email="ada@aldermouth.example")
    add_to_the_demo(lead)
    due = max(clock.due for clock in Clock.objects.filter(item__jobs__leg="handed_back") if clock.due)
    with at(noon(due)):
        remind(on=due)
    return lead


def opened(browser: Browser, site: str, who: Person | None) -> Page:
    """A window of somebody who is signed in, or of a stranger."""
    context = browser.new_context()
    if who:
        context.add_cookies([session_of(who, site)])
    return context.new_page()


def faults_of(page: Page, site: str, name: str, address: str, look: Callable[[Page], list[str]]) -> list[str]:
    """What is wrong with a page at any size; it is asked for once and then made wider."""
    answer = page.goto(site + address)
    assert answer is not None
    faults = [] if answer.status == 200 and page.url == site + address else [f"{answer.status} at {page.url}"]
    faults += unreached(page)
    for size, (width, height) in SIZES.items():
        page.set_viewport_size(ViewportSize(width=width, height=height))
        faults += [f"{fault} at {size}" for fault in look(page)]
        picture(page, name, size)
    return [f"{name}: {fault}" for fault in faults]


def test_it_works(browser: Browser, site: str) -> None:
    lead = demo()
    pages = addresses()
    faults = faults_of(opened(browser, site, None), site, "sign_in", pages.pop("sign_in"), looked_at)
    page = opened(browser, site, lead)

    # Pages that ask for the password again come first: it was given a moment ago.
    for name, address in sorted(pages.items(), key=lambda each: not each[1].startswith("/you/")):
        faults += faults_of(page, site, name, address, looked_at)

    assert faults == []
    assert len(pages) >= 90


def test_it_holds_the_longest_names(browser: Browser, site: str) -> None:
    lead = demo()
    pages = addresses()
    pages.pop("sign_in")
    Customer.objects.exclude(name__contains="نور").update(name="W" * 160)
    Person.objects.update(name="M" * 120)
    for model in Model.objects.all():
        Model.objects.filter(pk=model.pk).update(maker="W" * 80, name=f"{'M' * 76}{model.pk:04d}")
    Identifier.objects.filter(pk__in=[first(Identifier).pk]).update(value="W" * 80)
    Part.objects.update(name="W" * 80)
    GearSet.objects.update(name="ا" * 120)
    page = opened(browser, site, lead)
    faults = []

    for name, address in pages.items():
        faults += faults_of(page, site, f"long-{name}", address, sideways)

    assert faults == []


def test_it_says_what_to_do_next_where_there_is_nothing_yet(browser: Browser, site: str) -> None:
    open_workshop(name="Aldermouth Dive Workshop", zone="Europe/London", currency="GBP")
    lead = first_lead(
        name="Ada Quill", email="a@aldermouth.example", password=PASSWORD, signing_secret=SECRET
    )
    page = opened(browser, site, lead)
    faults, silent = [], []

    for name in LISTS:
        faults += faults_of(page, site, f"empty-{name}", reverse(name), looked_at)
        if not page.locator(".empty .what, .empty .muted, .empty a").count():
            silent.append(name)

    assert (faults, silent) == ([], [])


def sideways(page: Page) -> list[str]:
    """Whether a page must be moved sideways to be read."""
    wide = page.evaluate("() => document.documentElement.scrollWidth > window.innerWidth")
    return ["scrolls sideways"] if wide else []


TABBED = """() => {
  const shown = (each) => each.checkVisibility({visibilityProperty: true}) && !each.closest("details:not([open]) > :not(summary)");
  const all = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']")];
  const first = (each) => each.type !== "radio" || (document.querySelector(`[name="${each.name}"]:checked`) ?? document.querySelector(`[name="${each.name}"]`)) === each;
  window.left = new Set(all.filter((each) => !each.disabled && shown(each) && first(each)));
  window.bare = [];
  document.addEventListener("focusin", ({target}) => {
    window.left.delete(target);
    const drawn = ["", "::after"].some((part) => getComputedStyle(target, part).outlineStyle !== "none");
    if (!drawn && target.id !== "content") window.bare.push(target.outerHTML.slice(0, 80));
  });
  // A day is typed in parts, each of which Tab stops at.
  return window.left.size + 6 * document.querySelectorAll("[type^=date]").length;
}"""


def unreached(page: Page) -> list[str]:
    """What Tab alone does not reach, and what does not show that it is reached."""
    for _ in range(page.evaluate(TABBED) + 2):
        page.keyboard.press("Tab")
    left = page.evaluate("() => [...window.left].map((each) => each.outerHTML.slice(0, 80))")
    bare = page.evaluate("() => window.bare")
    return [f"Tab does not reach {each}" for each in left] + [f"no mark of focus on {each}" for each in bare]


def looked_at(page: Page) -> list[str]:
    """What is wrong with the page that is shown."""
    return [violation["id"] for violation in Axe().run(page).response["violations"]] + sideways(page)


def picture(page: Any, name: str, size: str) -> None:
    """Keep a picture when a folder for them is given."""
    if folder := os.environ.get("EBBWRIGHT_PICTURES"):
        page.screenshot(path=Path(folder) / f"{name}-{size}.png", full_page=True)
