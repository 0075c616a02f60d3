"""Six benches at 10 Hz: from sample to screen, and what it costs the Bench page. `python -m pytest -s tests/live/measure.py`

No test of the suite: it takes two minutes and tells figures, which hang on what else the machine does. The server, the six
loggers and the Chromium that watches all six share its processors.
"""

import random
import statistics
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import requests
from django.conf import settings
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
BENCHES, RATE_HZ, PER_CHUNK, LOGGED_S, ALONE_S = 6, 10.0, 4, 40.0, 15.0
OTHERS = 20  # open jobs beside them
# Keeps when the page first showed how many samples.
WATCH = """() => { window.drawn = []; const place = document.querySelector('#live');
  const note = () => window.drawn.push([Date.now() / 1000, parseInt(place.querySelector('.muted').innerText) || 0]);
  new MutationObserver(note).observe(place, { childList: true }); note(); }"""


@pytest.fixture
def bench(
    transactional_db: None, settings: Any, monkeypatch: Any, tmp_path: Path
) -> Iterator[tuple[Served, list[Walk]]]:
    """The server with six jobs on testing and more on other legs; it knows whom we sign in."""
    monkeypatch.setenv("EBBWRIGHT_SECRET_KEY", settings.SECRET_KEY)
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    people = staffed()
    house, api = housed(people), clients(people)
    walks = []
    for n in range(BENCHES + OTHERS):
        walk = Walk(house, api)
        walks.append(walk.to("testing") if n < BENCHES else walk.to("stripping"))
    with serving(tmp_path) as served:
        yield served, walks[:BENCHES]


def asked(url: str, cookies: dict[str, str], until: Any) -> list[float]:
    """How long the Bench took, again and again, in ms."""
    found, session = [], requests.Session()
    while not until():
        began = time.monotonic()
        answer = session.get(f"{url}/bench", cookies=cookies, timeout=30)
        found.append((time.monotonic() - began) * 1000)
        assert (answer.status_code, answer.url) == (200, f"{url}/bench")
        time.sleep(0.1)
    return found


def after(seconds: float) -> Any:
    """Whether so much time has passed."""
    end = time.monotonic() + seconds
    return lambda: time.monotonic() > end


def test_it_measures(bench: Any, browser: Browser) -> None:
    served, walks = bench
    person = walks[0].house.people["technician"]
    secret = Token.objects.create(
        user=person, expiry=timedelta(days=1), label="logger", scopes=[str(can) for can in Can]
    )[1]
    client = Client()
    client.force_login(person)
    key = client.cookies[settings.SESSION_COOKIE_NAME].value
    served.put_back()
    server, cookies = Server(served.url, secret), {settings.SESSION_COOKIE_NAME: key}
    context = browser.new_context(base_url=served.url)
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": key, "url": served.url}])

    before = asked(served.url, cookies, after(ALONE_S))
    loggers, uids = [], []
    pages: list[Page] = []
    for n, walk in enumerate(walks):
        chance = random.Random(n)
        loggers.append(Logger(server, stage(chance), chance, RATE_HZ, PER_CHUNK))
        instrument = str(walk.house.instruments["pressure logger"].uid)
        path = f"jobs/{walk.job}/tests/intermediate_pressure/loggings"
        uids.append(server.ask("POST", path, {"phase": "final", "instrument": instrument})["uid"])
        pages.append(context.new_page())
        pages[-1].goto(f"/loggings/{uids[-1]}")
        pages[-1].evaluate(WATCH)
    worked = served.worked_s()
    done = threading.Event()
    with ThreadPoolExecutor(BENCHES + 1) as threads:
        plays = [threads.submit(each.play, uid, LOGGED_S) for each, uid in zip(loggers, uids, strict=True)]
        during_all = threads.submit(asked, served.url, cookies, done.is_set)
        while not all(each.done() for each in plays):
            pages[0].wait_for_timeout(200)
        pages[0].wait_for_timeout(1500)
        done.set()
        during = during_all.result()
    worked = served.worked_s() - worked
    ages = [age for page, each in zip(pages, loggers, strict=True) for age in shown_after(page, each.made)]
    context.close()
    again = asked(served.url, cookies, after(ALONE_S))
    alone = statistics.median(before + again)
    loaded = statistics.median(during)
    ages.sort()
    sys.stdout.write(
        f"\nsample to screen: median {statistics.median(ages):.2f} s, 99 % {ages[len(ages) * 99 // 100]:.2f} s, "
        f"most {ages[-1]:.2f} s, of {len(ages)} samples\n"
        f"Bench page: {statistics.median(before):.1f} and {statistics.median(again):.1f} ms alone, {loaded:.1f} ms "
        f"with six benches ({100 * (loaded / alone - 1):+.0f} %)\n"
        f"the web process worked {worked / (LOGGED_S + 1.5):.2f} s a second, the Bench page asked for in it\n"
    )
    for uid in uids:
        ok_verdict = server.ask("POST", f"loggings/{uid}/end", {})["verdict"]
        assert ok_verdict in ("within", "outside", "inconclusive")


def shown_after(page: Page, made: list[float]) -> list[float]:
    """Of each sample, how long it took until a page showed that many."""
    found, n = [], 0
    for at, samples in page.evaluate("window.drawn"):
        found += [at - each for each in made[n:samples]]
        n = max(n, samples)
    assert n == len(made), (n, len(made))
    return found
