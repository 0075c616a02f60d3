"""A known customer's set checked in with ticket and tags: how many keys it takes, counted, and how long."""

import time

import pytest
from playwright.sync_api import Response

from jobs.flow.models import DropOff, Job
from shop.gear.models import GearSet, Item
from shop.sets.actions import make_set
from tests.browser.conftest import Keyboard
from tests.browser.test_find import scan
from tests.conftest import PASSWORD, House
from tests.printed import marks_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
# What the counter is promised: under 60 s and under 25 keys beside free text.
MOST_KEYS, MOST_S = 25, 60.0
A_KEY_S = 1.0  # a person's pace, as no machine has: each key takes a second more than was measured
FOCUSED = "() => document.activeElement !== document.body"
COUNTED = """() => {
  const count = (event) => {
    if (event.type === "keydown" && event.repeat) return;
    sessionStorage.setItem("pressed", Number(sessionStorage.getItem("pressed")) + 1);
  };
  ["keydown", "mousedown", "touchstart"].forEach((name) => addEventListener(name, count, { capture: true }));
}"""


class Counted:
    """Somebody at the counter whose every key and click is counted by the browser itself."""

    def __init__(self, keyboard: Keyboard):
        self.page = keyboard.page
        keyboard.sign_in("counter@aldermouth.example", PASSWORD)
        self.page.add_init_script(f"({COUNTED})()")
        self.site = keyboard.site
        self.go("/counter")
        self.began = time.monotonic()

    def go(self, path: str) -> None:
        """Open a page; autofocus may be later than its load."""
        self.page.goto(f"{self.site}{path}")
        self.page.wait_for_function(FOCUSED)

    def key(self, name: str) -> None:
        self.page.keyboard.press(name)

    def enter(self) -> None:
        """Press Enter on what has focus, and wait for the page that comes and its autofocus."""
        with self.page.expect_navigation():
            self.key("Enter")
        self.page.wait_for_function(FOCUSED)

    @property
    def keys(self) -> int:
        return int(self.page.evaluate("() => sessionStorage.getItem('pressed')") or 0)


@pytest.fixture
def gear_set(house: House) -> GearSet:
    """Maja's regulator set: a first stage and two second stages."""
    items: list[Item] = [
        house.item(kind, serial=f"T-{n}")
        for n, kind in enumerate(("first_stage", "second_stage", "second_stage"))
    ]
    return make_set(by=house.people["counter"], owner=house.customer, name="regulator set", items=items)


def printed(counter: Counted) -> bytes:
    """Enter on the one print action; the PDF that comes."""
    with counter.page.expect_response("**/papers.pdf") as coming:
        counter.key("Enter")
    answer: Response = coming.value
    assert answer.status == 200
    return counter.page.request.get(answer.url).body()


def checked_in(counter: Counted) -> tuple[int, float]:
    """From the check-in form with the whole set to its papers; how many keys and seconds it took from the Counter on."""
    page = counter.page
    counter.key("ArrowDown")
    assert page.evaluate("() => document.activeElement.value") == "no gas"
    counter.enter()
    assert "C-0001" in page.inner_text("h1")
    keys = counter.keys + 1  # the Enter that prints, whose page cannot be asked
    content = printed(counter)
    took = time.monotonic() - counter.began
    assert marks_of(content) == [["C-0001", "C-0001-1", "C-0001-2", "C-0001-3"]]
    assert (DropOff.objects.count(), Job.objects.count()) == (1, 3)
    assert set(Job.objects.values_list("line__contents", flat=True)) == {"no gas"}
    return keys, took


def test_it_works(gear_set: GearSet, keyboard: Keyboard) -> None:
    """By a scan of the tag of any item of the set; the scanner's own signs count as keys too."""
    counter = Counted(keyboard)

    for sign in gear_set.present[1].label:
        counter.key(sign)
    counter.enter()
    counter.enter()
    keys, took = checked_in(counter)

    assert (keys, keys < MOST_KEYS) == (12, True)
    assert took + keys * A_KEY_S < MOST_S


def test_it_takes_a_name_as_well(gear_set: GearSet, keyboard: Keyboard) -> None:
    """By the beginning of a name, which is counted too, though it is free text."""
    counter = Counted(keyboard)

    for sign in "maja":
        counter.key(sign)
    counter.enter()
    counter.enter()
    counter.enter()
    counter.enter()
    keys, took = checked_in(counter)

    assert (keys, keys < MOST_KEYS) == (11, True)
    assert took + keys * A_KEY_S < MOST_S


def test_it_checks_nothing_in_when_another_thing_is_scanned_meanwhile(
    gear_set: GearSet, keyboard: Keyboard
) -> None:
    """What is inside has focus, and a scanner ends with Enter: the code is looked up, the form stays unsent."""
    counter, other = Counted(keyboard), gear_set.present[2]
    counter.go(f"/customers/{gear_set.owner.uid}/check-in?set={gear_set.uid}")
    counter.key("ArrowDown")

    with counter.page.expect_navigation(url=f"**/items/{other.uid}"):
        scan(keyboard, other.label)

    assert DropOff.objects.count() == 0


def test_it_offers_the_plans_of_the_chosen_items_model(
    gear_set: GearSet, house: House, keyboard: Keyboard
) -> None:
    counter = Counted(keyboard)
    items = list(gear_set.present)
    plans = {kind: str(house.plans[kind].uid) for kind in ("first_stage", "second_stage")}
    counter.go(f"/customers/{house.customer.uid}/check-in?item={items[0].uid}")
    offered = "select => [...select.options].filter(o => !o.disabled && o.value).map(o => o.value)"

    plan = counter.page.locator("[name='lines[0]plan']")
    first = plan.evaluate(offered)
    counter.page.select_option("[name='lines[0]item']", str(items[1].uid))
    second, left = plan.evaluate(offered), plan.input_value()
    counter.page.click("[data-add-line]")
    fresh = counter.page.locator("[name='lines[1]plan']").evaluate(offered)

    assert (first, second, left) == ([plans["first_stage"]], [plans["second_stage"]], "")
    assert sorted(fresh) == sorted(plans.values())
    counter.page.goto(f"{keyboard.site}/customers/{house.customer.uid}/many")
    counter.page.select_option("[name=model]", str(house.models["second_stage"].uid))
    assert counter.page.locator("[name=plan]").evaluate(offered) == [plans["second_stage"]]


@pytest.mark.parametrize(("leaving", "kept"), [("Counter", "Ann"), ("Back without saving", "")])
def test_it_forgets_what_was_typed_only_where_somebody_leaves_without_saving(
    house: House, keyboard: Keyboard, leaving: str, kept: str
) -> None:
    page = Counted(keyboard).page
    page.goto(f"{keyboard.site}/customers/new")
    page.fill("[name=name]", "Ann")
    page.get_by_role("link", name=leaving, exact=True).click()
    page.goto(f"{keyboard.site}/customers/new")
    assert page.input_value("[name=name]") == kept
