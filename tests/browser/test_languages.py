"""What a private link opens in German, with names that are written from right to left, down to 360 px."""

import pytest
from django.db import transaction
from playwright.sync_api import Browser, ViewportSize

from jobs.bookings.actions import set_days
from jobs.porthole.actions import share
from shop.customers.models import Customer
from shop.workshop.models import Workshop
from tests.answers.made import linked as answering
from tests.answers.made import overdue
from tests.browser.test_pages import looked_at, picture
from tests.conftest import Api, House
from tests.porthole.made import linked, pictured
from tests.walk import Walk, ok

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WIDTHS = (360, 820, 1280)
RIGHT_TO_LEFT = "ورشة نور للغوص"


def test_it_works(house: House, api: dict[str, Api], browser: Browser, site: str) -> None:
    Customer.objects.update(language="de", name=RIGHT_TO_LEFT)
    Workshop.objects.update(name=RIGHT_TO_LEFT, hours="Dienstag bis Samstag, 10 bis 18 Uhr")
    set_days(by=house.people["lead"], seen=1, a_day=2, horizon=30)
    with transaction.atomic():
        overdue(house)
    ready = Walk(house, api)
    share(by=house.people["counter"], photograph=pictured(ready, RIGHT_TO_LEFT))
    work = Walk(house, api, "second_stage")
    ok(api["counter"].post(f"drop-offs/{work.drop_off}/quotes", {"amount": "250.00"}), 201)
    ok(api["counter"].post(f"jobs/{work.job}/holds", {"kind": "parts", "why": "None left."}), 201)
    done = linked(ready.to("signed_off").row.drop_off)
    path, answers = linked(work.row.drop_off), answering(house)
    ways = [path, f"{path}/ask", f"{path}/go-ahead", done]
    ways += [answers, *(f"{answers}/{way}" for way in ("elsewhere", "gone", "address", "book", "one-click"))]
    page, faults = browser.new_page(), []

    for n, way in enumerate(ways):
        page.goto(site + way)
        for width in WIDTHS:
            page.set_viewport_size(ViewportSize(width=width, height=800))
            faults += [f"{way} at {width}: {fault}" for fault in looked_at(page)]
            picture(page, f"german-{n}", str(width))
    assert faults == []
