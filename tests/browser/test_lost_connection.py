"""The line is cut in the middle of a check-in, the printer is out, two counters press at once: nothing lost, nothing twice."""

import pytest
from django.db import transaction
from playwright.sync_api import Browser, Page, Route, expect
from playwright.sync_api import TimeoutError as TooLong

from jobs.answers.models import Answer
from jobs.flow.models import DropOff, Job
from shop.gear.models import GearSet
from shop.sets.actions import make_set
from tests.answers.made import linked, overdue
from tests.browser.test_two_at_once import Windows, press
from tests.browser.test_two_at_once import window as window
from tests.conftest import House
from tests.printed import marks_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WORDS = "In the customer's words"


@pytest.fixture
def gear_set(house: House) -> GearSet:
    """Maja's first and second stage."""
    items = [house.item("first_stage", "T-1"), house.item("second_stage", "T-2")]
    return make_set(by=house.people["counter"], owner=house.customer, name="regulator set", items=items)


def form_of(page: Page, gear_set: GearSet) -> str:
    """From the customer's page to the check-in of the set, as a person comes there; its address."""
    page.get_by_role("link", name="Check in gear", exact=True).click()
    page.get_by_role("link", name="All of regulator set").click()
    return f"/customers/{gear_set.owner.uid}/check-in?set={gear_set.uid}"


def begun(page: Page, gear_set: GearSet) -> str:
    """A check-in of the set that is filled in and not sent; its address."""
    page.goto(f"/customers/{gear_set.owner.uid}")
    path = form_of(page, gear_set)
    page.get_by_label("no gas", exact=True).check()
    page.get_by_label(WORDS).first.fill("free-flows in the cold")
    return path


def cut(page: Page) -> None:
    """Press the button; no page of ours comes."""
    try:
        page.get_by_role("button", name="Check in", exact=True).click(timeout=4000)
        page.wait_for_url("chrome-error://**", timeout=4000)
    except TooLong:
        pytest.fail(f"The page did not break: {page.url}")


def send_again(page: Page, gear_set: GearSet, way: str) -> None:
    """Leave the browser's own page by Back or by the Counter's address, find the form again, and send what stands there."""
    if way == "back":  # the browser's own page stands in place of the form
        page.go_back()
        page.go_back()
    else:
        page.goto("/")
        page.goto(f"/customers/{gear_set.owner.uid}")
    form_of(page, gear_set)
    assert page.get_by_label(WORDS).first.input_value() == "free-flows in the cold"
    assert page.get_by_label("no gas", exact=True).is_checked()
    assert press(page, "Check in") == 200
    assert "C-0001" in page.inner_text("h1")


def one_check_in() -> None:
    """One drop-off with a job for each item."""
    assert (DropOff.objects.count(), Job.objects.count()) == (1, 2)
    job = Job.objects.order_by("pk")[0]
    assert (job.line.words, job.line.contents) == ("free-flows in the cold", "no gas")


@pytest.mark.parametrize("way", ["back", "by the address"])
def test_it_works(gear_set: GearSet, window: Windows, way: str) -> None:
    """The line is down as the button is pressed."""
    page = window("counter")
    begun(page, gear_set)
    page.context.set_offline(True)
    cut(page)
    assert DropOff.objects.count() == 0

    page.context.set_offline(False)
    send_again(page, gear_set, way)

    one_check_in()
    page.goto(f"/customers/{gear_set.owner.uid}/check-in?set={gear_set.uid}")
    assert page.locator(".kept").count() == 0, "what was done is not kept"


def lose_the_answer(page: Page, path: str) -> None:
    """The server does it, and the line is cut before its answer is there."""

    def lose(route: Route) -> None:
        if route.request.method == "POST":
            route.fetch(max_redirects=0)
            route.abort("connectionreset")
        else:
            route.continue_()

    page.route(f"**{path}", lose)
    cut(page)
    page.unroute(f"**{path}")


def test_it_says_what_is_here_when_the_answer_is_lost(gear_set: GearSet, window: Windows) -> None:
    page = window("counter")
    lose_the_answer(page, begun(page, gear_set))
    one_check_in()

    page.goto(f"/customers/{gear_set.owner.uid}")
    form_of(page, gear_set)

    assert "Here already: E-00001, C-0001; E-00002, C-0001." in page.inner_text("main")


def test_it_makes_nothing_twice_when_the_answer_is_lost(house: House, window: Windows) -> None:
    """A bag that nobody knows yet, which no open job could refuse: sent again, it is the same drop-off."""
    page, path = window("counter"), f"/customers/{house.customer.uid}/check-in"
    page.goto(path)
    page.get_by_label(WORDS).first.fill("a mask in a bag")
    lose_the_answer(page, path)
    assert DropOff.objects.count() == 1

    page.goto(path)
    assert page.get_by_label(WORDS).first.input_value() == "a mask in a bag"
    assert press(page, "Check in") == 200

    assert "C-0001" in page.inner_text("h1")
    assert DropOff.objects.count() == 1


def test_it_keeps_what_was_typed_when_the_window_is_reloaded(gear_set: GearSet, window: Windows) -> None:
    page = window("counter")
    begun(page, gear_set)

    page.reload()

    assert "What was typed here and not sent is back." in page.inner_text("form .kept")
    assert press(page, "Check in") == 200
    one_check_in()


def test_it_takes_a_set_in_once_from_two_counters(gear_set: GearSet, window: Windows) -> None:
    first, second = window("counter"), window("lead")
    for page in (first, second):
        begun(page, gear_set)

    assert press(first, "Check in") == 200
    assert press(second, "Check in") == 409

    assert "has an open job already" in second.inner_text(".refusals")
    assert second.get_by_label(WORDS).first.input_value() == "free-flows in the cold"
    one_check_in()


def test_it_prints_the_same_again(gear_set: GearSet, window: Windows) -> None:
    """The printer was out: the paper is there for as long as the drop-off is, and photographs are asked of nobody."""
    page = window("counter")
    begun(page, gear_set)
    press(page, "Check in")
    address = page.get_by_role("link", name="Ticket and tags (PDF)").get_attribute("href")

    papers = [page.request.get(str(address)).body() for _ in range(2)]

    assert [marks_of(each) for each in papers] == [[["C-0001", "C-0001-1", "C-0001-2"]]] * 2
    one_check_in()


def test_it_forgets_what_was_done_under_a_private_link_too(house: House, browser: Browser, site: str) -> None:
    """No page there has a referrer: a second answer is no copy of the first."""
    with transaction.atomic():
        items = [overdue(house, serial).item for serial in ("TH-1", "TH-2")]
    address = linked(house)
    page = browser.new_page(base_url=site)
    for item in items:
        page.goto(address)
        page.get_by_role("link", name="Sold, lost or put away").click()
        assert page.locator(".kept").count() == 0
        page.get_by_label("Which").select_option(str(item.uid))
        page.get_by_label("sold").check()
        assert press(page, "Tell the workshop") == 200

    assert set(Answer.objects.values_list("item", flat=True)) == {item.pk for item in items}


def test_it_forgets_what_was_made_at_the_address_of_its_own_form(house: House, window: Windows) -> None:
    """A token is shown on the answer to its form; refused once before, it does not come back as if it was not sent."""
    page, said = window("lead"), "What was typed here and not sent is back."
    page.goto("/tokens")
    page.get_by_label("Label").fill("bench logger")
    page.get_by_role("button", name="Make a token").click()
    expect(page.get_by_label("Label")).to_have_value("bench logger")
    page.get_by_label("see", exact=True).check()
    page.get_by_role("button", name="Make a token").click()

    expect(page.get_by_text("The new token, shown this once")).to_be_visible()
    expect(page.get_by_text(said)).to_have_count(0)
    expect(page.get_by_label("Label")).to_have_value("")
