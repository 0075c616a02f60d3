"""A3 and A4: guesses at one account, and one guess each at many; what counts is how many reach the hasher."""

import time
from itertools import product
from types import SimpleNamespace
from typing import Any

import pytest
from allauth.core.internal import ratelimit
from django.test import Client

from shop.signin.rules import cookie_name
from shop.staff.models import Person
from tests.conftest import PASSWORD, staffed
from tests.threads import together

THE_SAME = "technician@aldermouth.example"
PARALLEL, EACH = 20, 50


def guess(password: str, n: int = 0, email: str = THE_SAME, address: str = "192.0.2.1", **more: str) -> Any:
    """One wrong guess from an address, with a forwarded address that says something else each time."""
    forged = f"198.51.{n // 250}.{n % 250}"
    headers = {"X-Forwarded-For": forged, "X-Real-IP": forged, "Forwarded": f"for={forged}"} | more
    return Client().post(
        "/sign-in", {"username": email, "password": password}, REMOTE_ADDR=address, headers=headers
    )


@pytest.fixture
def minutes(monkeypatch: pytest.MonkeyPatch) -> Any:
    """The clock of the sign-in library's limits; `minutes.gone` puts it on."""
    clock = SimpleNamespace(gone=0.0)
    real = ratelimit.time
    moved = SimpleNamespace(time=lambda: 1.9e9 + 60 * clock.gone, monotonic=real.monotonic, sleep=real.sleep)
    monkeypatch.setattr(ratelimit, "time", moved)
    return clock


@pytest.mark.parametrize("addresses", [1, 50])
def test_it_works(real_database: None, hashed: list[str], addresses: int) -> None:
    """A thousand wrong passwords, twenty at once."""
    staffed()
    hashed.clear()

    def act(i: int) -> list[int]:
        tries = range(i * EACH, (i + 1) * EACH)
        return [guess(f"wrong {n}", n, address=f"192.0.2.{n % addresses + 1}").status_code for n in tries]

    found = [status for each in together(PARALLEL, act) for status in each]

    assert len(found) == 1000
    assert set(found) == {400, 429}
    assert 1 <= found.count(400) == len(hashed) <= 10
    assert guess(PASSWORD, address="192.0.2.99").status_code in (302, 429)


def test_it_lets_ten_guesses_through_in_any_quarter_of_an_hour(
    people: dict[str, Person], hashed: list[str], minutes: Any
) -> None:
    """A patient one, with a machine for each guess: one every ten seconds for forty minutes."""
    for n in range(240):
        minutes.gone = n / 6
        guess(f"wrong {n}", n, address=f"10.0.0.{n + 1}")

    at = [int(password.split()[1]) for password in hashed]
    assert max(sum(start <= each < start + 90 for each in at) for start in at) == 10
    assert 20 <= len(at) <= 30


def test_it_keeps_nobody_out_of_a_browser_that_the_account_knows(
    people: dict[str, Person], hashed: list[str], minutes: Any
) -> None:
    mine, other = Client(REMOTE_ADDR="192.0.2.99"), Client(REMOTE_ADDR="192.0.2.98")
    right = {"username": THE_SAME, "password": PASSWORD}
    assert mine.post("/sign-in", right).status_code == 302
    mine.post("/sign-out")
    for n in range(60):
        minutes.gone = n / 60
        guess(f"wrong {n}", n, address=f"10.0.0.{n + 1}")

    assert other.post("/sign-in", right).status_code == 429, "known nowhere"
    began = time.monotonic()
    assert mine.post("/sign-in", right | {"username": THE_SAME.upper()}).status_code == 302
    assert time.monotonic() - began <= 1


def test_it_counts_the_guesses_at_a_browser_that_the_account_knows(
    people: dict[str, Person], hashed: list[str], minutes: Any
) -> None:
    """Stolen, a browser lets ten guesses through in a quarter of an hour, and none more at another account."""
    mine = Client(REMOTE_ADDR="192.0.2.99")
    mine.post("/sign-in", {"username": "counter@aldermouth.example", "password": PASSWORD})
    mine.post("/sign-out")
    (cookie,) = [value for name, value in mine.cookies.items() if name.startswith("known-")]
    hashed.clear()
    for n in range(100):
        minutes.gone = n / 10
        mine.post("/sign-in", {"username": "counter@aldermouth.example", "password": f"wrong {n}"})
    assert len(hashed) <= 10

    hashed.clear()
    name = cookie_name(THE_SAME)
    for n in range(100):
        minutes.gone = 20 + n / 10
        thief = Client(REMOTE_ADDR=f"10.0.1.{n + 1}")
        thief.cookies[name] = cookie.value if n % 2 else f"{n}:{cookie.value}"
        thief.post("/sign-in", {"username": THE_SAME, "password": f"wrong {n}"})
    assert 1 <= len(hashed) <= 10


@pytest.mark.parametrize(
    ("spellings", "hosts"),
    [
        ([THE_SAME], ["127.0.0.1", "localhost", "127.0.0.1:1", "localhost:2", "localhost:65535"]),
        ([THE_SAME, THE_SAME.upper(), f" {THE_SAME} ", "technıcian@aldermouth.example"], ["localhost"]),
        (["storekeeper@aldermouth.example", "ſtorekeeper@aldermouth.example"], ["localhost"]),
        (["storekeeper@aldermouth.example", "store\u212aeeper@aldermouth.example"], ["localhost"]),
    ],
)
def test_it_counts_an_account_however_it_is_written(
    people: dict[str, Person], hashed: list[str], spellings: list[str], hosts: list[str]
) -> None:
    """Names and ports of the host, capitals, and signs that a database takes for the same letter."""
    for n, (host, email) in enumerate(list(product(hosts, spellings)) * 6):
        guess(f"wrong {n}", n, email, address=f"10.0.0.{n + 1}", Host=host)

    assert len(hashed) == 5


def test_it_forgets_nobody_in_a_flood_of_others(people: dict[str, Person], hashed: list[str]) -> None:
    for n in range(10):
        guess("x", n, f"first{n}@aldermouth.example")
    for n in range(300):
        guess("x", n, f"n{n}@aldermouth.example", address=f"10.1.{n // 250}.{n % 250}")
    hashed.clear()

    assert guess("wrong once more").status_code == 429
    assert hashed == []


def test_it_lets_fifty_guesses_of_a_machine_through(
    people: dict[str, Person], hashed: list[str], minutes: Any
) -> None:
    """A4: one guess each at many accounts from one address, spread over a quarter of an hour."""
    for n in range(500):
        minutes.gone = 14.9 * n / 500
        guess("a lantern at low water", n, f"n{n}@aldermouth.example")

    assert len(hashed) == 50
