"""Debian's Chromium, driven by keyboard against a live server."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as django_settings
from playwright.sync_api import Browser, Page, sync_playwright

# Playwright's loop runs in the test's own thread, which Django takes for an asynchronous caller.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
QUIET = ["--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"]
# Markup does not ask which engine there is.
if not django_settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    collect_ignore = ["test_scripts.py", "test_languages.py"]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests; without one the test fails and says so."""
    names = [os.environ.get("EBBWRIGHT_CHROMIUM", ""), "chromium", "chromium-browser", "google-chrome"]
    path = next((found for name in names if name and (found := shutil.which(name))), None)
    if path is None:
        pytest.fail("No Chromium was found: install Debian's package chromium, or set EBBWRIGHT_CHROMIUM.")
    with sync_playwright() as driver:
        sandbox = ["--no-sandbox"] if os.geteuid() == 0 else []
        chromium = driver.chromium.launch(executable_path=path, args=[*QUIET, *sandbox])
        yield chromium
        chromium.close()


@pytest.fixture
def site(live_server: Any, settings: Any, tmp_path: Path) -> str:
    """The live server's address; letters go to a folder of the test's own."""
    settings.LETTERS = tmp_path / "letters"
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    }
    return str(live_server.url)


def squeezed(text: str) -> str:
    """A text without any white space."""
    return "".join(text.split())


class Keyboard:
    """Somebody who has no mouse: tabs to what has a name, types, presses Enter."""

    def __init__(self, page: Page, site: str):
        self.page, self.site = page, site

    NAME = """() => { const e = document.activeElement; if (!e || e === document.body) return '';
        const label = e.labels && e.labels.length ? e.labels[0].innerText : '';
        return (e.getAttribute('aria-label') || label || e.innerText || '').trim(); }"""

    def to(self, name: str, start: bool = True) -> None:
        """Tab until the focused element's name begins with `name`."""
        if start:
            self.page.evaluate(
                "() => { document.activeElement.blur(); window.getSelection().removeAllRanges(); }"
            )
            self.page.locator("body").focus()
        for _ in range(160):
            self.page.keyboard.press("Tab")
            # Words hidden for the eye stand on a line of their own in innerText: compare without spaces.
            if squeezed(self.page.evaluate(self.NAME)).startswith(squeezed(name)):
                return
        raise AssertionError(f"Nothing named {name!r} can be reached by Tab on {self.page.url}")

    def press(self, name: str) -> None:
        """Press Enter on a link or button, and wait for the page that comes."""
        self.to(name)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def type(self, name: str, text: str) -> None:
        """Type into a field, in place of what it holds; in a select, the beginning of the choice."""
        self.to(name)
        if self.page.evaluate("() => document.activeElement.tagName") != "SELECT":
            self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def sign_in(self, email: str, password: str) -> None:
        self.page.goto(f"{self.site}/sign-in")
        self.type("E-mail", email)
        self.type("Password", password)
        self.press("Sign in")

    def sign_out(self) -> None:
        self.press("Sign out")


@pytest.fixture
def keyboard(browser: Browser, site: str) -> Iterator[Keyboard]:
    """A fresh window at desk size; any error in its console fails the test."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.set_default_timeout(15_000)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on(
        "console", lambda said: faults.append(said.text) if "Content Security Policy" in said.text else None
    )
    yield Keyboard(page, site)
    context.close()
    assert faults == []
