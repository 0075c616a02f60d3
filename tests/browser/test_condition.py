"""The condition of what came, gone through by keyboard right after check-in; and what was typed outlives a reload."""

import pytest

from jobs.condition.models import Answer, Look
from tests.browser.conftest import Keyboard
from tests.conftest import PASSWORD, Api, House
from tests.walk import pair

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_it_works(house: House, keyboard: Keyboard) -> None:
    api = {"counter": Api(house.people["counter"])}
    walk, _ = pair(house, api, house.item("first_stage", "T-1"), house.item("second_stage", "T-2"))
    keyboard.sign_in("counter@aldermouth.example", PASSWORD)
    page = keyboard.page
    page.goto(f"{keyboard.site}/drop-offs/{walk.drop_off}")
    page.wait_for_function("() => document.activeElement.innerText.startsWith('Ticket and tags')")
    page.keyboard.press("Tab")  # the next thing after the papers
    with page.expect_navigation():
        page.keyboard.press("Enter")

    page.wait_for_function("() => document.activeElement.type === 'checkbox'")
    page.keyboard.press("Space")
    page.keyboard.press("Tab")  # the first line of its list: fine, then seen
    page.keyboard.press("Space")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Tab")
    page.keyboard.type("green")
    assert page.locator(".ask-note:visible").count() == 1
    page.reload()
    assert page.locator(".ask-note:visible input").input_value() == "green"
    keyboard.to("Everything else of C-0001-2")
    page.keyboard.press("Space")
    with page.expect_navigation():
        page.keyboard.press("Enter")  # sends the form from where one is

    assert "green" in page.inner_text("#looks")
    assert sorted(Look.objects.values_list("line__n", flat=True)) == [1, 2]
    assert list(Answer.objects.exclude(said="fine").values_list("said", "note")) == [("seen", "green")]
