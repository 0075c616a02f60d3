"""The whole slice in Chromium, by keyboard alone: from the counter to the next letter."""

from pathlib import Path
from typing import Any

import pytest

from jobs.flow.models import Job
from jobs.reminders.actions import remind
from shop.post.actions import send_waiting
from shop.workshop.reads import at, noon
from tests.browser.conftest import Keyboard
from tests.conftest import PASSWORD, SECRET, TRACES, House

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_it_works(house: House, keyboard: Keyboard, settings: Any) -> None:
    check_in(keyboard)
    job = Job.objects.get()
    lead_gives_it(keyboard, job)
    technician_works(keyboard, job)
    technician_tests_and_signs(keyboard, job)
    counter_hands_back(keyboard, job)

    job.refresh_from_db()
    assert job.leg == "handed_back"
    clock = job.item.clocks.get()
    assert clock.due is not None
    with at(noon(clock.due)):
        assert remind(on=clock.due) == 1
        assert remind(on=clock.due) == 0
    assert send_waiting() == 2  # the private link that check-in offers, and the reminder
    letters = [each.read_text() for each in Path(settings.LETTERS).glob("*.eml")]
    assert len(letters) == 2
    assert all(job.item.label in each for each in letters)


def check_in(keyboard: Keyboard) -> None:
    keyboard.sign_in("counter@aldermouth.example", PASSWORD)
    keyboard.type("Find a customer", "Maja")
    with keyboard.page.expect_navigation():
        keyboard.page.keyboard.press("Enter")
    keyboard.press("Maja Lindqvist")
    keyboard.press("New item")
    keyboard.type("Model", "Tarnwell Hesk, first")
    keyboard.type("Serial", "TH-40817")
    keyboard.press("Add the item")
    keyboard.press("Check in")
    keyboard.type("Item", "E-")
    keyboard.type("Service plan", "Overhaul")
    keyboard.type("Gas inside", "no gas")
    keyboard.type("In the customer", "creeps, I think")
    keyboard.press("Check in")
    assert "C-0001" in keyboard.page.inner_text("h1")
    keyboard.press("Take the go-ahead")
    keyboard.press("Take the go-ahead")
    keyboard.sign_out()


def lead_gives_it(keyboard: Keyboard, job: Job) -> None:
    keyboard.sign_in("lead@aldermouth.example", PASSWORD)
    keyboard.page.goto(f"{keyboard.site}/jobs/{job.uid}")
    keyboard.press("Give it to a technician")
    keyboard.type("Technician", "Ines")
    keyboard.press("Give it")
    keyboard.press("Clear it for work")
    keyboard.sign_out()


def technician_works(keyboard: Keyboard, job: Job) -> None:
    keyboard.sign_in("technician@aldermouth.example", PASSWORD)
    assert "bench" in keyboard.page.url
    keyboard.press("First stage, Tarnwell Hesk")
    keyboard.press("Go on to stripping")
    for step in job.plan.steps:
        if step.leg == "stripping":
            expected = sum(part.count for part in job.plan.freed(step))
            count(keyboard, expected - 1, said=f"1 of {expected} is missing")
            count(keyboard, expected)
    refused_until_accounted(keyboard)
    keyboard.press(job.plan.parts[0].name)
    # From each open part's page straight to the next one's, then back to the tray.
    for part in job.plan.parts:
        assert part.name in keyboard.page.inner_text("h1")
        if part.renew:
            keyboard.type("Lot", part.renew)
        keyboard.press("Account for it")
    keyboard.press("Go on to cleaning")
    keyboard.press("Step done")
    keyboard.press("Go on to rebuilding")
    keyboard.press("Step done")
    keyboard.type("Torque, as", "28")
    keyboard.type("Torque wrench", "TW-2")
    keyboard.press("Step done")
    keyboard.press("Go on to testing")


def count(keyboard: Keyboard, counted: int, said: str = "") -> None:
    """Count the loose parts of the present step; `said` is the refusal that must come."""
    keyboard.type("Loose parts", str(counted))
    keyboard.press("Step done")
    if said:
        assert said in keyboard.page.inner_text("[role=alert]")


def refused_until_accounted(keyboard: Keyboard) -> None:
    """Every part stands open still: cleaning may begin, rebuilding may not; the page names the parts."""
    assert "kinds of part" in keyboard.page.inner_text("main")


def technician_tests_and_signs(keyboard: Keyboard, job: Job) -> None:
    page = keyboard.page
    keyboard.press("Measure: Intermediate pressure")
    keyboard.to("Trace")
    page.locator("input[type=file]").set_input_files(TRACES / "creep_0p10.csv")
    keyboard.type("Instrument", "BG-3")
    keyboard.press("Judge it")
    assert "outside" in page.inner_text("main")
    assert page.locator("svg.trace path.trace-line").count() == 1
    page.goto(f"{keyboard.site}/jobs/{job.uid}")
    keyboard.press("Measure once more: Intermediate pressure")
    page.locator("input[type=file]").set_input_files(TRACES / "creep_0p02.csv")
    keyboard.type("Instrument", "BG-3")
    keyboard.type("Why it is done again", "The hose was not seated.")
    keyboard.press("Judge it")
    assert "within" in page.inner_text("main")
    for title, reading in (("Lock-up at 50 bar", "9.42"), ("Supply pressure lost", "0.2")):
        page.goto(f"{keyboard.site}/jobs/{job.uid}")
        keyboard.press(f"Measure: {title}")
        keyboard.type("Instrument", "BG-3")
        keyboard.type("Reading", reading)
        keyboard.press("Judge it")
    page.goto(f"{keyboard.site}/jobs/{job.uid}")
    keyboard.press("Sign off")
    keyboard.type("Outcome", "serviced")
    keyboard.type("Your signing secret", "not the secret")
    keyboard.type("Second person", "Marek")
    keyboard.type("The second person's signing secret", SECRET)
    keyboard.press("Sign this round off")
    assert "not the signing secret of Ines" in page.inner_text("[role=alert]")
    keyboard.type("Your signing secret", SECRET)
    keyboard.type("The second person's signing secret", SECRET)
    keyboard.press("Sign this round off")
    assert "Service record" in page.title() or "record" in page.inner_text("h1").lower()
    page.goto(f"{keyboard.site}/bench")
    keyboard.sign_out()


def counter_hands_back(keyboard: Keyboard, job: Job) -> None:
    keyboard.sign_in("counter@aldermouth.example", PASSWORD)
    keyboard.press("Maja Lindqvist")
    keyboard.press("Hand back")
    keyboard.type("Collector", "Maja Lindqvist")
    keyboard.type("Items, scanned", job.item.label)
    keyboard.press("Hand it back")
    assert "Handed back to Maja Lindqvist" in keyboard.page.inner_text("main")
