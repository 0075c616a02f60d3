"""Six benches at 10 Hz: from sample to screen, and what it costs other pages. `python -m pytest -s tests/live/measure.py`

No tests of the suite: they take two minutes and tell figures, which hang on what else the machine does. The server, the
loggers and those who watch share its processors; what Chromium takes to draw is left out where the Bench page is timed.
"""

import multiprocessing
import random
import statistics
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from http.client import HTTPConnection
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
import requests
from django.conf import settings as django_settings
from django.test import Client
from playwright.sync_api import Browser, Page

from jobs.live.management.commands._bench import Logger, Server, stage
from shop.staff.models import Token
from shop.staff.rules import Can
from tests.browser.conftest import browser
from tests.conftest import clients, housed, staffed
from tests.fuzz.served import Served, serving
from tests.walk import Walk

__all__ = ["browser"]
BENCHES, RATE_HZ, PER_CHUNK, WATCHED_S = 6, 10.0, 7, 30.0
OTHERS = 20  # open jobs beside them
TURNS, TURN_S, ALREADY_S = (
    4,
    12.0,
    180,
)  # of six benches, in turns with as long without; what was logged before each
# Keeps when the page first showed how many samples.
WATCH = """() => { window.drawn = []; const place = document.querySelector('#live');
  const note = () => window.drawn.push([Date.now() / 1000, parseInt(place.querySelector('p').innerText) || 0]);
  new MutationObserver(note).observe(place, { childList: true }); note(); }"""


class Bench:
    """A server with six jobs on testing and more on other legs, and who asks it."""

    def __init__(self, served: Served, walks: list[Walk], secret: str, session: str):
        self.served, self.walks = served, walks
        self.server, self.cookies = Server(served.url, secret), {django_settings.SESSION_COOKIE_NAME: session}

    def begun(self) -> list[tuple[Logger, str]]:
        """Six loggings that have begun."""
        found = []
        for n, walk in enumerate(self.walks):
            chance = random.Random(n)
            given = {"phase": "final", "instrument": str(walk.house.instruments["pressure logger"].uid)}
            path = f"jobs/{walk.job}/tests/intermediate_pressure/loggings"
            uid = self.server.ask("POST", path, given)["uid"]
            found.append((Logger(self.server.again(), stage(chance), chance, RATE_HZ, PER_CHUNK), uid))
        return found

    def asked(self, until: Callable[[], bool]) -> list[float]:
        """How long the Bench page took, again and again, in ms."""
        found, session = [], requests.Session()
        while not until():
            began = time.monotonic()
            answer = session.get(f"{self.served.url}/bench", cookies=self.cookies, timeout=30)
            found.append((time.monotonic() - began) * 1000)
            assert (answer.status_code, answer.url) == (200, f"{self.served.url}/bench")
            time.sleep(0.1)
        return found

    def crowd(self, benches: list[tuple[Logger, str]]) -> None:
        """Six that log, and six that watch as the page's script does, in a process of their own."""
        done = threading.Event()

        def watch(uid: str) -> None:
            line, have = HTTPConnection(self.served.url[7:]), ""
            cookie = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
            while not done.is_set():
                line.request("GET", f"/loggings/{uid}/drawn?have={quote(have)}", headers={"Cookie": cookie})
                answer = line.getresponse()
                drawn = answer.read().decode()
                if answer.status == 200:
                    have, ask_ms = (
                        drawn.partition(f'data-{name}="')[2].partition('"')[0] for name in ("have", "ask")
                    )
                time.sleep(int(ask_ms) / 1000 if answer.status == 200 else 0.12)

        with ThreadPoolExecutor(2 * BENCHES) as threads:
            plays = [threads.submit(each.play, uid, TURN_S) for each, uid in benches]
            for _, uid in benches:
                threads.submit(watch, uid)
            for each in plays:
                each.result()
            done.set()


def after(seconds: float) -> Callable[[], bool]:
    """Whether so much time has passed."""
    end = time.monotonic() + seconds
    return lambda: time.monotonic() > end


@pytest.fixture
def bench(transactional_db: None, settings: Any, monkeypatch: Any, tmp_path: Path) -> Iterator[Bench]:
    """The real server on a copy of this database; it knows whom we sign in."""
    monkeypatch.setenv("EBBWRIGHT_SECRET_KEY", settings.SECRET_KEY)
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    people = staffed()
    house, api = housed(people), clients(people)
    walks = [Walk(house, api).to("testing" if n < BENCHES else "stripping") for n in range(BENCHES + OTHERS)]
    person = people["technician"]
    given = {"user": person, "expiry": timedelta(days=1), "label": "logger", "scopes": [str(c) for c in Can]}
    secret = Token.objects.create(**given)[1]
    client = Client()
    client.force_login(person)
    session = client.cookies[settings.SESSION_COOKIE_NAME].value
    with serving(tmp_path) as served:
        yield Bench(served, walks[:BENCHES], secret, session)


def test_it_measures_from_sample_to_screen(bench: Bench, browser: Browser) -> None:
    context = browser.new_context(base_url=bench.served.url)
    context.add_cookies(
        [{"name": name, "value": value, "url": bench.served.url} for name, value in bench.cookies.items()]
    )
    benches, pages = bench.begun(), []
    for _, uid in benches:
        pages.append(context.new_page())
        pages[-1].goto(f"/loggings/{uid}")
        pages[-1].evaluate(WATCH)
    with ThreadPoolExecutor(BENCHES) as threads:
        plays = [threads.submit(each.play, uid, WATCHED_S) for each, uid in benches]
        while not all(each.done() for each in plays):
            pages[0].wait_for_timeout(200)
        pages[0].wait_for_timeout(1500)
    ages = [
        age for page, (each, _) in zip(pages, benches, strict=True) for age in shown_after(page, each.made)
    ]
    context.close()
    ages.sort()
    sys.stdout.write(
        f"\nsample to screen: median {statistics.median(ages):.2f} s, 99 % {ages[len(ages) * 99 // 100]:.2f} s, "
        f"most {ages[-1]:.2f} s, of {len(ages)} samples\n"
    )


def shown_after(page: Page, made: list[float]) -> list[float]:
    """Of each sample, how long it took until a page showed that many."""
    found: list[float] = []
    n, ahead_s = 0, time.time() - time.monotonic()
    for at, samples in page.evaluate("window.drawn"):
        found += [at - ahead_s - each for each in made[n:samples]]
        n = max(n, samples)
    assert n == len(made), (n, len(made))
    return found


def test_it_measures_what_other_pages_lose(bench: Bench) -> None:
    alone: list[float] = []
    loaded: list[float] = []
    worked = 0.0
    for _ in range(TURNS):
        alone += bench.asked(after(TURN_S))
        benches = bench.begun()
        for each, uid in benches:
            each.send(uid, [each.line(n / RATE_HZ) for n in range(-ALREADY_S * int(RATE_HZ), 0)])
        crowd = multiprocessing.get_context("fork").Process(target=bench.crowd, args=(benches,))
        before = bench.served.worked_s()
        crowd.start()
        loaded += bench.asked(after(TURN_S))
        worked += bench.served.worked_s() - before
        crowd.join()
        assert crowd.exitcode == 0
        for _, uid in benches:
            bench.server.ask("POST", f"loggings/{uid}/throw-away", {"reason": "measured"})
    was, now = statistics.median(alone), statistics.median(loaded)
    sys.stdout.write(
        f"\nBench page: {was:.1f} ms alone ({len(alone)} times), {now:.1f} ms beside six benches ({len(loaded)} times): "
        f"{100 * (now / was - 1):+.0f} %; the web process worked {worked / TURNS / TURN_S:.2f} s a second beside them\n"
    )
