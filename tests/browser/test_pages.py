"""Every page of the demo workshop in Chromium at phone, tablet and desk size: axe, no sideways scrolling.

With EBBWRIGHT_PICTURES set to a folder, a picture of each page is kept there.
"""

import os
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings as django_settings
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse
from playwright.sync_api import Browser

from jobs.bench.models import Attempt
from jobs.demand.management.commands.demo import build
from jobs.flow.models import Job
from jobs.reminders.actions import remind
from jobs.signoff.models import SignOff
from shop.catalogue.models import Model, PlanVersion
from shop.customers.models import Customer
from shop.drafts.actions import copy_plan
from shop.drafts.models import Draft
from shop.gear.models import Item
from shop.instruments.models import Instrument
from shop.post.models import Letter
from shop.staff.actions import make_token
from shop.staff.models import Authorisation, Person, Token
from shop.stock.models import Lot, Part
from shop.workshop.reads import at, noon
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
    job = Job.objects.get(leg="stripping")
    testing = Job.objects.get(leg="testing")
    done = SignOff.objects.order_by("pk")[0]
    owner = Customer.objects.get(name="Tomás Brandão")
    attempt = Attempt.objects.filter(key="intermediate_pressure").order_by("pk")[0]
    item = Item.objects.order_by("pk")[0]
    subjects: dict[str, list[Any]] = {
        "customer": [Customer.objects.get(name="نور الحداد").uid],
        "change_customer": [owner.uid],
        "new_item": [owner.uid],
        "check_in": [owner.uid],
        **{name: [owner.uid] for name in ("merge_customer", "customer_history")},
        **{name: [item.uid] for name in ("item", "owner", "merge_item", "split_item", "item_history")},
        **{name: [item.uid] for name in ("new_identifier", "photograph_item")},
        "identifier_state": [item.identifiers.all()[0].uid],
        "photograph_line": [job.line.uid],
        **{name: [job.uid] for name in ("photograph_job", "job_history")},
        "plan": [PlanVersion.objects.order_by("pk")[0].uid],
        "copy_plan": [PlanVersion.objects.order_by("pk")[0].uid],
        "compare_plans": [PlanVersion.objects.order_by("pk")[0].uid],
        "withdraw_plan": [PlanVersion.objects.order_by("pk")[0].uid],
        "issue_plan": [Model.objects.order_by("pk")[0].uid],
        "new_draft": [Model.objects.order_by("pk")[0].uid],
        "draft": [Draft.objects.get().uid],
        "issue_draft": [Draft.objects.get().uid],
        "set_aside_draft": [Draft.objects.get().uid],
        "authorise": [Person.objects.order_by("pk")[0].uid],
        "person": [Person.objects.order_by("pk")[0].uid],
        "change_roles": [Person.objects.order_by("pk")[0].uid],
        "deactivate": [Person.objects.order_by("pk")[0].uid],
        "reactivate": [Person.objects.order_by("pk")[0].uid],
        "invite_again": [Person.objects.order_by("pk")[0].uid],
        "end_authorisation": [Authorisation.objects.order_by("pk")[0].uid],
        "end_token": [Token.objects.get().uid],
        "calibrate": [Instrument.objects.order_by("pk")[0].uid],
        "receive": [Part.objects.order_by("pk")[0].uid],
        "use_lot": [Lot.objects.order_by("pk")[0].uid],
        "job": [job.uid],
        "advance": [job.uid],
        "empty": [job.uid],
        "assign": [job.uid],
        "step": [job.uid, "diaphragm"],
        "tray_part": [job.uid, "filter"],
        "test": [testing.uid, "cracking"],
        "sign": [testing.uid],
        "attempt": [attempt.uid],
        "record": [done.uid],
        "drop_off": [job.drop_off.uid],
        "go_ahead": [job.drop_off.uid],
        "hand_back": [done.round.job.drop_off.uid],
        "letter": [Letter.objects.order_by("pk")[0].uid],
    }
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


def test_it_works(browser: Browser, site: str) -> None:
    build()
    lead = Person.objects.get(email="ada@aldermouth.example")
    make_token(by=lead, label="logger", scopes=["see"], days=30)
    copy_plan(by=lead, plan=PlanVersion.objects.order_by("pk")[0])
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
