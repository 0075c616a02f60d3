"""Unsafe settings, readiness and the text for a machine, by tables."""

from dataclasses import replace
from typing import Any

import pytest

from shop.health.rules import Figure, Given, State, exposition, not_ready, unsafe, unsafe_engine

HOME = Given()
PUBLIC = Given(base_url="https://workshop.example", https=True, mail_from="desk@aldermouth.org")
LARGE = replace(PUBLIC, sqlite=False, pragmas="", redis=True, web_processes=4, smtp=True)


def test_it_works() -> None:
    assert unsafe(HOME) == unsafe(PUBLIC) == unsafe(LARGE) == []
    assert all(each.hint for each in unsafe(Given(debug=True, secret_key="", base_url="http://a.example")))


@pytest.mark.parametrize(
    ("safe", "change", "codes"),
    [
        (HOME, {"debug": True}, []),
        (PUBLIC, {"debug": True}, ["E001"]),
        (HOME, {"secret_key": "s3cret"}, ["E002"]),
        (HOME, {"secret_key": "change-me" * 20}, ["E002"]),
        (HOME, {"secret_key": "0123456789" * 5}, []),
        (HOME, {"secret_key": "0123456789" * 4 + "012345678"}, ["E002"]),
        (HOME, {"base_url": "http://workshop.example"}, ["E003"]),
        (HOME, {"base_url": "http://192.168.1.5:8710"}, ["E003"]),
        (HOME, {"base_url": "http://0.0.0.0:8710"}, ["E003"]),
        (HOME, {"base_url": "http://localhost.example"}, ["E003"]),
        (HOME, {"base_url": "http://127.0.0.1.example"}, ["E003"]),
        (HOME, {"base_url": "http://localhost:8710"}, []),
        (HOME, {"base_url": "http://[::1]:8710"}, []),
        (PUBLIC, {"https": False}, ["E004"]),
        (HOME, {"https": True}, ["E005"]),
        (PUBLIC, {"base_url": "http://workshop.example"}, ["E003", "E005"]),
        (HOME, {"smtp": True, "mail_from": "desk@aldermouth.org"}, ["E006"]),
        (LARGE, {"mail_from": "workshop@aldermouth.example"}, ["E007"]),
        (PUBLIC, {"mail_from": "workshop@aldermouth.example"}, []),
        (PUBLIC, {"web_processes": 2}, ["E008"]),
        (HOME, {"pragmas": "journal_mode=WAL synchronous=EXTRA"}, ["E009"]),
        (HOME, {"pragmas": "journal_mode=DELETE synchronous=FULL"}, ["E009"]),
        (HOME, {"pragmas": ""}, ["E009"]),
        (LARGE, {"redis": False}, ["E010"]),
        (HOME, {"redis": True}, []),
        (HOME, {"failpoint": True}, ["E012"]),
        (HOME, {"failpoint": True, "trial": True}, []),
        (HOME, {"trial": True}, []),
    ],
)
def test_it_refuses_what_is_unsafe(safe: Given, change: dict[str, Any], codes: list[str]) -> None:
    assert [each.code for each in unsafe(replace(safe, **change))] == codes


def test_it_repeats_no_secret() -> None:
    found = unsafe(Given(secret_key="a quiet word"))

    assert [each.code for each in found] == ["E002"]
    assert "a quiet word" not in repr(found)


@pytest.mark.parametrize(
    ("found", "count"),
    [
        ({"journal_mode": "delete", "synchronous": "3"}, 0),
        ({"journal_mode": "memory", "synchronous": "3"}, 0),
        ({"journal_mode": "wal", "synchronous": "3"}, 1),
        ({"journal_mode": "delete", "synchronous": "2"}, 1),
        ({"fsync": "on", "full_page_writes": "on", "synchronous_commit": "on"}, 0),
        ({"fsync": "off", "full_page_writes": "on", "synchronous_commit": "on"}, 1),
        ({"fsync": "on", "full_page_writes": "off", "synchronous_commit": "on"}, 1),
        ({"fsync": "on", "full_page_writes": "on", "synchronous_commit": "off"}, 1),
        ({"fsync": "off", "full_page_writes": "off", "synchronous_commit": "off"}, 3),
    ],
)
def test_it_refuses_an_engine_that_may_lose_what_was_acknowledged(found: dict[str, str], count: int) -> None:
    assert len(unsafe_engine(found)) == count


@pytest.mark.parametrize(
    ("state", "said"),
    [
        (State(), []),
        (State(database=False, outbox=False), ["The database does not answer."]),
        (State(migrations=False), ["Migrations wait: run manage.py migrate."]),
        (State(outbox=False), ["A letter has waited 15 minutes longer than it should."]),
        (State(heartbeat=False), ["No worker has shown that it works for 5 minutes."]),
    ],
)
def test_it_says_what_is_not_ready(state: State, said: list[str]) -> None:
    assert not_ready(state) == said


def test_it_writes_figures_as_the_format_wants_them() -> None:
    figures = [
        Figure("plain", "A plain one.", 3),
        Figure("large", "A large one.", 123_456_789),
        Figure("unknown", "One without a value."),
        Figure("jobs", "By leg.", label="leg", values={"testing": 2, 'odd"\\': 0.5}),
    ]

    assert exposition(figures) == (
        "# HELP ebbwright_plain A plain one.\n# TYPE ebbwright_plain gauge\nebbwright_plain 3\n"
        "# HELP ebbwright_large A large one.\n# TYPE ebbwright_large gauge\nebbwright_large 123456789\n"
        "# HELP ebbwright_jobs By leg.\n# TYPE ebbwright_jobs gauge\n"
        'ebbwright_jobs{leg="testing"} 2\nebbwright_jobs{leg="odd\\"\\\\"} 0.5\n'
    )
