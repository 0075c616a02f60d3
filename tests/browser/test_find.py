"""The find box of every page in Chromium: the key that goes to it, a scanner, and fields that nothing disturbs."""

import time
from typing import Any

import pytest

from tests.browser.conftest import Keyboard
from tests.conftest import PASSWORD, Api, House
from tests.walk import Walk

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def walk(house: House, api: dict[str, Api], keyboard: Keyboard) -> Walk:
    """A first stage that waits for its collector; the counter has signed in."""
    walk = Walk(house, api).to("signed_off")
    keyboard.sign_in("counter@aldermouth.example", PASSWORD)
    return walk


def send(keyboard: Keyboard, keys: list[str], gap_s: float) -> None:
    """Real key events, each told to have come `gap_s` after the one before, however busy the machine is."""
    session = keyboard.page.context.new_cdp_session(keyboard.page)
    at_s = time.time()
    for key in keys:
        text = "\r" if key == "Enter" else key
        code = {"Enter": 13, " ": 32}.get(key, 0)
        event = {"key": key, "windowsVirtualKeyCode": code, "timestamp": at_s}
        session.send("Input.dispatchKeyEvent", event | {"type": "keyDown", "text": text})
        session.send("Input.dispatchKeyEvent", event | {"type": "keyUp"})
        at_s += gap_s


def scan(keyboard: Keyboard, code: str) -> None:
    """What a scanner sends: the signs of a code 5 ms apart, then Enter."""
    send(keyboard, [*code, "Enter"], 0.005)


def typed(keyboard: Keyboard, words: str) -> None:
    """What a person sends: the same, 60 ms apart."""
    send(keyboard, [*words, "Enter"], 0.06)


def stays(keyboard: Keyboard, address: str) -> bool:
    """Whether the page is still the same a while after."""
    keyboard.page.wait_for_timeout(400)
    return keyboard.page.url == address


def at(keyboard: Keyboard, path: str) -> str:
    """Open a page with nothing focused; its address."""
    address = f"{keyboard.site}{path}"
    keyboard.page.goto(address)
    keyboard.page.evaluate("() => document.activeElement.blur()")
    return address


@pytest.mark.parametrize("path", ["/bench", "/store", "/office", "/counter", "/find?q=zzz", "/customers/new"])
def test_it_works(walk: Walk, keyboard: Keyboard, path: str) -> None:
    at(keyboard, path)

    with keyboard.page.expect_navigation(url=f"**/items/{walk.item.uid}"):
        scan(keyboard, walk.item.label)


def test_it_looks_a_scanned_code_up_that_several_things_carry(walk: Walk, keyboard: Keyboard) -> None:
    walk.house.item(serial="S-first_stage")
    at(keyboard, "/bench")

    with keyboard.page.expect_navigation(url="**/find?q=S-first_stage"):
        scan(keyboard, "S-first_stage")

    assert "With exactly this code" in keyboard.page.inner_text("main")


def test_it_presses_no_button_that_has_focus(walk: Walk, keyboard: Keyboard) -> None:
    at(keyboard, "/bench")
    keyboard.to("Sign out")

    with keyboard.page.expect_navigation(url="**/find?q=TH+40+17"):
        scan(keyboard, "TH 40 17")

    assert keyboard.page.get_by_text("Sign out").count() == 1


@pytest.mark.parametrize("code", ["E-1", "C1"])
def test_it_leaves_short_bursts_alone(walk: Walk, keyboard: Keyboard, code: str) -> None:
    address = at(keyboard, "/bench")

    scan(keyboard, code)

    assert stays(keyboard, address)


def test_it_leaves_alone_what_a_person_types_beside_a_field(walk: Walk, keyboard: Keyboard) -> None:
    address = at(keyboard, "/bench")

    typed(keyboard, walk.item.label)

    assert stays(keyboard, address)


def test_it_takes_the_rest_of_a_code_for_no_code(walk: Walk, keyboard: Keyboard) -> None:
    """A scanner that falters after E-0: what follows reads as tray 1, another thing."""
    address = at(keyboard, "/bench")

    send(keyboard, ["E", "-"], 0.06)
    send(keyboard, [*"00001", "Enter"], 0.005)

    assert stays(keyboard, address)
    keyboard.page.wait_for_timeout(400)
    with keyboard.page.expect_navigation(url=f"**/jobs/{walk.job}"):
        scan(keyboard, "00001")


@pytest.mark.parametrize("way", [scan, typed])
def test_it_takes_no_scan_from_the_field_of_a_hand_back(walk: Walk, keyboard: Keyboard, way: Any) -> None:
    at(keyboard, f"/drop-offs/{walk.drop_off}/hand-back")
    keyboard.type("Collector", "Maja Lindqvist")
    address = keyboard.page.url
    keyboard.to("Items, scanned")

    way(keyboard, walk.item.label)

    # A scanner ends with Enter: the next item goes on the next line, and nothing is handed back yet.
    assert stays(keyboard, address)
    assert keyboard.page.input_value("[name=items]") == f"{walk.item.label}\n"
    with keyboard.page.expect_navigation(url=f"**/drop-offs/{walk.drop_off}"):
        keyboard.press("Hand it back")
    assert "Handed back to Maja Lindqvist" in keyboard.page.inner_text("main")
    assert walk.row.leg == "handed_back"


def test_it_disturbs_no_typing_in_a_form(walk: Walk, keyboard: Keyboard) -> None:
    at(keyboard, "/customers/new")
    keyboard.to("Name")

    keyboard.page.keyboard.type("Rowan and/or Achterberg")

    assert keyboard.page.input_value("[name=name]") == "Rowan and/or Achterberg"
    with keyboard.page.expect_navigation(url="**/customers/*"):
        keyboard.page.keyboard.press("Enter")
    assert "Rowan and/or Achterberg" in keyboard.page.inner_text("h1")


def test_it_comes_to_the_box_by_one_key(walk: Walk, keyboard: Keyboard) -> None:
    at(keyboard, "/office")

    keyboard.page.keyboard.press("/")
    keyboard.page.keyboard.type("01632 9604", delay=60)
    with keyboard.page.expect_navigation(url="**/find?q=01632+9604"):
        keyboard.page.keyboard.press("Enter")

    assert "Maja Lindqvist" in keyboard.page.inner_text("main")
    assert keyboard.page.input_value("#find-anything") == "01632 9604"
    keyboard.press("Maja Lindqvist")
    assert "Maja Lindqvist" in keyboard.page.inner_text("h1")


def test_it_finds_from_the_counters_own_box(walk: Walk, keyboard: Keyboard) -> None:
    keyboard.page.goto(f"{keyboard.site}/counter")
    keyboard.page.wait_for_selector(
        "#find-anything:focus"
    )  # Chromium gives it the focus a moment after the page is there

    with keyboard.page.expect_navigation(url=f"**/items/{walk.item.uid}"):
        scan(keyboard, "s-FIRST_stage")


def test_it_takes_a_lots_label_into_the_open_tray(
    house: House, api: dict[str, Api], keyboard: Keyboard
) -> None:
    """One scan each, with nothing focused and in the field; any other code on that page leads where it always does."""
    walk = Walk(house, api).to("stripping")
    walk.steps("stripping")
    keyboard.sign_in("technician@aldermouth.example", PASSWORD)
    at(keyboard, f"/jobs/{walk.job}")

    with keyboard.page.expect_navigation(url="**?scanned=yoke_ring#tray"):
        scan(keyboard, house.lots["TH-302"].code)
    assert "Yoke O-ring: renewed, from lot TH-302-A" in keyboard.page.inner_text("#tray")
    keyboard.to("Scan a lot's label")
    with keyboard.page.expect_navigation(url="**?scanned=seat#tray"):
        scan(keyboard, house.lots["TH-303"].code)
    at(keyboard, f"/jobs/{walk.job}")
    with keyboard.page.expect_navigation():
        scan(keyboard, house.lots["old"].code)

    assert "has its end already: renewed, from lot TH-302-A." in keyboard.page.inner_text("main")
    assert keyboard.page.input_value("#scan-lot") == ""
    with keyboard.page.expect_navigation(url=f"**/items/{walk.item.uid}"):
        scan(keyboard, walk.item.label)
