"""Two people on one thing, each in a window of their own: the second is told what changed and keeps what they typed."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.conf import settings
from playwright.sync_api import Browser, Page

from jobs.flow.models import DropOff
from jobs.worksheet.models import StepDone
from shop.customers.models import Customer
from tests.conftest import Api, House
from tests.walk import Walk, ok

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
Windows = Callable[[str], Page]


@pytest.fixture
def window(browser: Browser, site: str, pages: dict[str, Any]) -> Iterator[Windows]:
    """A signed-in window of a person by role, each a browser of its own."""
    contexts = []

    def opened(role: str) -> Page:
        context = browser.new_context(base_url=site)
        contexts.append(context)
        key = pages[role].cookies[settings.SESSION_COOKIE_NAME].value
        context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": key, "url": site}])
        page = context.new_page()
        page.set_default_timeout(15_000)
        return page

    yield opened
    for context in contexts:
        context.close()


def both(window: Windows, path: str, first: str, second: str) -> tuple[Page, Page]:
    """Two people who have the same page open."""
    found = window(first), window(second)
    for page in found:
        page.goto(path)
    return found


def press(page: Page, name: str) -> int:
    """The status of the page that comes when a button is pressed."""
    with page.expect_navigation() as coming:
        page.get_by_role("button", name=name, exact=True).click()
    assert coming.value is not None
    return coming.value.status


def test_it_works(house: House, window: Windows) -> None:
    first, second = both(window, f"/customers/{house.customer.uid}/change", "counter", "lead")
    first.get_by_label("Phone").fill("+44 1632 960499")
    second.get_by_label("Name").fill("Maja Lindqvist-Berg")
    second.get_by_label("Phone").fill("+44 1632 960500")

    assert press(first, "Save") == 200
    assert press(second, "Save") == 412

    assert "It has been changed since you saw it." in second.inner_text(".refusals")
    assert second.get_by_label("Name").input_value() == "Maja Lindqvist-Berg"
    assert second.get_by_label("Phone").input_value() == "+44 1632 960500"
    assert second.inner_text("#name-help") == "In the record now: Maja Lindqvist."
    assert second.inner_text("#phone-help") == "In the record now: +441632960499."
    assert second.locator("#email-help", has_text="In the record now").count() == 0
    assert press(second, "Save") == 200
    row = Customer.objects.get()
    assert (row.name, row.phone, row.version) == ("Maja Lindqvist-Berg", "+441632960500", 3)


def test_it_makes_nothing_twice_when_somebody_goes_back_and_sends_again(
    house: House, window: Windows
) -> None:
    page = window("counter")
    page.goto(f"/customers/{house.customer.uid}/check-in")
    page.get_by_label("In the customer's words").first.fill("a mask in a bag")
    assert press(page, "Check in") == 200
    made = page.url

    page.go_back()
    assert page.get_by_label("In the customer's words").first.input_value() == "a mask in a bag"
    assert press(page, "Check in") == 200
    assert page.url == made

    page.go_back()
    page.get_by_label("In the customer's words").first.fill("fins")
    assert press(page, "Check in") == 422
    assert "what it made stands" in page.inner_text(".refusals")
    assert DropOff.objects.count() == 1


def test_it_keeps_what_was_typed_through_a_reload(house: House, window: Windows) -> None:
    first, second = both(window, f"/customers/{house.customer.uid}/change", "counter", "lead")
    first.get_by_label("Name").fill("Maja L.")
    second.get_by_label("Name").fill("M. Lindqvist")
    press(first, "Save")
    press(second, "Save")

    second.goto(f"/customers/{house.customer.uid}/change")

    assert second.get_by_label("Name").input_value() == "M. Lindqvist"
    assert "What was typed here and not sent is back." in second.inner_text("form .kept")
    assert Customer.objects.get().name == "Maja L."


def test_it_tells_the_second_who_did_the_step(house: House, api: dict[str, Api], window: Windows) -> None:
    walk = Walk(house, api).to("stripping")
    key = next(step.key for step in walk.row.plan.steps if step.leg == "stripping")
    count = sum(part.count for part in walk.row.plan.freed(walk.row.plan.steps[0]))
    first, second = both(window, f"/jobs/{walk.job}", "technician", "inspector")
    first.fill("#counted", str(count))
    second.fill("#counted", str(count + 7))

    assert press(first, "Step done") == 200
    assert press(second, "Step done") == 409

    assert "This step is done already." in second.inner_text(".refusals")
    assert "done by Ines Okafor" in second.inner_text("main")
    assert f"{count} loose part" in second.inner_text("main")
    assert f"You typed {count + 7} loose parts; that was not recorded." in second.inner_text("main")
    row = StepDone.objects.get()
    assert (row.key, row.counted, row.done_by.name) == (key, count, "Ines Okafor")


def test_it_keeps_the_words_on_the_steps_own_form(house: House, api: dict[str, Api], window: Windows) -> None:
    walk = Walk(house, api).to("stripping")
    first, second = both(window, f"/jobs/{walk.job}/steps/ports", "technician", "inspector")
    first.get_by_label("Omitted because").fill("It came in pieces.")
    second.get_by_label("Omitted because").fill("The customer had it out.")

    assert press(first, "Step done") == 200
    assert press(second, "Step done") == 409

    assert "This step is done already." in second.inner_text(".refusals")
    assert second.get_by_label("Omitted because").input_value() == "The customer had it out."
    assert StepDone.objects.get().omitted == "It came in pieces."


def test_it_tells_the_second_that_the_job_has_moved(
    house: House, api: dict[str, Api], window: Windows
) -> None:
    walk = Walk(house, api).to("cleared")
    first, second = both(window, f"/jobs/{walk.job}", "technician", "inspector")

    assert press(first, "Go on to stripping") == 200
    assert press(second, "Go on to stripping") == 412

    assert "It has been changed since you saw it." in second.inner_text(".refusals")
    moved = second.get_by_role("row").last.inner_text()
    assert moved.split("\t")[1:] == ["cleared", "stripping", "Ines Okafor", "onward"]
    assert walk.row.leg == "stripping"
    assert walk.row.moves.count() == 2


def test_it_keeps_the_reason_for_going_back(house: House, api: dict[str, Api], window: Windows) -> None:
    walk = Walk(house, api).to("testing")
    first, second = both(window, f"/jobs/{walk.job}/move", "technician", "inspector")
    first.get_by_label("To").select_option("rebuilding")
    first.get_by_label("Reason").fill("A ring was pinched.")
    second.get_by_label("To").select_option("cleaning")
    second.get_by_label("Reason").fill("There is sand in the hose.")

    assert press(first, "Go back") == 200
    assert press(second, "Go back") == 412

    assert "It has been changed since you saw it." in second.inner_text(".refusals")
    assert second.get_by_label("Reason").input_value() == "There is sand in the hose."
    assert second.get_by_label("To").input_value() == "cleaning"
    assert second.inner_text("#to-help") == "In the record now: the job is on rebuilding."
    assert walk.row.leg == "rebuilding"
    assert press(second, "Go back") == 200
    assert walk.row.leg == "cleaning"


def test_it_shows_a_hold_that_somebody_placed_meanwhile(
    house: House, api: dict[str, Api], window: Windows
) -> None:
    walk = Walk(house, api).to("cleared")
    page = window("technician")
    page.goto(f"/jobs/{walk.job}")
    ok(api["lead"].post(f"jobs/{walk.job}/holds", {"kind": "customer", "why": "He calls back."}), 201)

    assert press(page, "Go on to stripping") == 412

    assert "on hold, customer" in page.inner_text("main")
    assert walk.row.leg == "cleared"
