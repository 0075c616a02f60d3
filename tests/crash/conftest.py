"""A workshop in a database that other processes share, with people whose secrets those processes can read."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import override_settings

from shop.staff.actions import make_token
from tests.conftest import House, housed, staffed
from tests.crash.people import Asked
from tests.crash.rig import Redis
from tests.servers import smtp_sink as smtp_sink
from tests.threads import real_database as real_database

HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]


class Counter:
    """Somebody at the counter, with a token and as much gear as is asked for."""

    def __init__(self, house: House):
        self.house, self.made = house, 0
        person = house.people["counter"]
        self.token = make_token(by=person, label="counter", scopes=["see", "check in"], days=1)[1]

    def check_ins(self, count: int) -> list[Asked]:
        """Check-ins that nobody has asked for yet, each of a known item and a bag."""
        return [self._check_in() for _ in range(count)]

    def _check_in(self) -> Asked:
        self.made += 1
        known: dict[str, Any] = {
            "item": str(self.house.item(serial=f"K-{self.made}").uid),
            "plan": str(self.house.plans["first_stage"].uid),
            "contents": "no gas",
        }
        bag = {"words": "A bag of hoses.", "contents": "not looked at"}
        data = {"customer": str(self.house.customer.uid), "promised_on": "2199-01-01", "lines": [known, bag]}
        return Asked("drop-offs", self.token, data)


@pytest.fixture
def house(real_database: None) -> Iterator[House]:
    """Over the one of all tests: other processes hash secrets as a real workshop does."""
    if connection.vendor == "sqlite":  # only the processes that are killed need to be sure of the disk
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA synchronous=OFF")
    with override_settings(PASSWORD_HASHERS=HASHERS):
        yield housed(staffed())


@pytest.fixture
def counter(house: House) -> Counter:
    return Counter(house)


@pytest.fixture
def redis(real_database: None, tmp_path: Path) -> Iterator[Redis]:
    """A Redis that may be killed."""
    server = Redis(tmp_path)
    yield server
    server.stop()


@pytest.fixture
def broker(request: pytest.FixtureRequest) -> str:
    """What wakes the worker: a Redis, by its address, or folders beside SQLite."""
    return "" if connection.vendor == "sqlite" else str(request.getfixturevalue("redis").url)
