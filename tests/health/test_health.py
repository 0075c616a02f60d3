"""Alive, ready and the figures, asked as a supervisor asks; unsafe settings stop what is started."""

import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.db.models.functions import Now
from django.test import Client

from shop.health.apps import engine_is_safe
from shop.health.models import Heartbeat
from shop.health.rules import FRESH, OVERDUE
from shop.health.tasks import heartbeat
from shop.post.actions import write_letter
from shop.post.models import Letter
from shop.post.rules import Purpose
from shop.staff.actions import make_token
from shop.staff.models import Person
from tests.conftest import ROOT, House
from tests.threads import real_database as real_database

KEY = "0123456789" * 5


def ready() -> tuple[int, str]:
    """What a supervisor is told."""
    answer = Client().get("/health/ready")
    return answer.status_code, answer.content.decode()


def letter() -> Letter:
    """One letter that waits."""
    row = write_letter(
        recipient="customer:1", address="maja@lindqvist.example", purpose=Purpose.READY, run="1",
        subject="Ready", text="Dear Maja",
    )  # fmt: skip
    assert row is not None
    return row


def figures(client: Client, **headers: str) -> dict[str, float]:
    """The samples of the figures by name and label."""
    answer = client.get("/api/v1/metrics", headers=headers)
    assert answer.status_code == 200, answer.content
    assert answer["Content-Type"] == "text/plain; version=0.0.4; charset=utf-8"
    lines = [line.rpartition(" ") for line in answer.content.decode().splitlines() if line[0] != "#"]
    return {name: float(value) for name, _, value in lines}


def test_it_works(db: None) -> None:
    heartbeat()

    assert ready() == (200, "ready\n")
    assert Client().get("/health/alive").content == b"alive\n"


def test_it_is_alive_without_a_database() -> None:
    """Without the mark `db` any query fails the test."""
    assert Client().get("/health/alive").status_code == 200


@pytest.mark.parametrize(("age", "code"), [(FRESH / 2, 200), (FRESH * 2, 503)])
def test_it_is_ready_while_a_worker_shows_that_it_works(db: None, age: timedelta, code: int) -> None:
    heartbeat()
    Heartbeat.objects.update(at=Now() - age)
    assert ready()[0] == code

    heartbeat()
    assert ready()[0] == 200
    assert Heartbeat.objects.count() == 1


def test_it_is_not_ready_before_a_worker_came(db: None) -> None:
    assert ready() == (503, "No worker has shown that it works for 5 minutes.\n")


@pytest.mark.parametrize(
    ("late", "state", "code"),
    [
        (OVERDUE / 2, "new", 200),
        (OVERDUE * 2, "new", 503),
        (OVERDUE * 2, "retry", 503),
        (OVERDUE * 2, "taken", 503),
        (OVERDUE * 2, "sent", 200),
        (OVERDUE * 2, "failed", 200),
        (-OVERDUE, "retry", 200),
    ],
)
def test_it_is_not_ready_with_a_letter_that_is_stuck(
    db: None, late: timedelta, state: str, code: int
) -> None:
    heartbeat()
    letter()
    Letter.objects.update(due_at=Now() - late, state=state)

    assert ready()[0] == code


def test_it_is_not_ready_while_a_migration_waits(db: None) -> None:
    heartbeat()
    MigrationRecorder(connection).record_unapplied("health", "0001_initial")

    assert ready() == (503, "Migrations wait: run manage.py migrate.\n")


def test_it_gives_figures_to_a_token_that_may_only_see(house: House) -> None:
    letter()
    _, secret = make_token(by=house.people["lead"], label="watch", scopes=["see"], days=30)

    found = figures(Client(), Authorization=f"Token {secret}", Accept="text/plain;version=0.0.4,*/*;q=0.1")

    assert found['ebbwright_letters{state="new"}'] == 1
    assert found['ebbwright_letters{state="sent"}'] == 0
    assert found['ebbwright_jobs{leg="checked_in"}'] == found["ebbwright_open_holds"] == 0
    assert found["ebbwright_journal_entries"] > 10
    assert found["ebbwright_database_bytes"] > 100_000
    assert found['ebbwright_info{version="0.1.0"}'] == 1
    assert "ebbwright_heartbeat_age_seconds" not in found
    heartbeat()
    again = figures(Client(), Authorization=f"Token {secret}")
    assert -5 < again["ebbwright_heartbeat_age_seconds"] < 60


def test_it_tells_a_stranger_no_figure(people: dict[str, Person]) -> None:
    answer = Client().get("/api/v1/metrics")

    assert answer.status_code == 401
    assert b"ebbwright_" not in answer.content


@pytest.mark.parametrize("well", [True, False])
def test_it_looks_at_the_database_itself(real_database: None, well: bool) -> None:
    """A power cut may lose what was acknowledged once a connection waits less for the disk."""
    if connection.vendor == "sqlite":
        sql, name = f"PRAGMA synchronous={3 if well else 1}", "synchronous=1"
    else:  # whatever else the server of the tests, which is thrown away, is set to
        sql, name = f"SET synchronous_commit = {'on' if well else 'off'}", "synchronous_commit=off"
    with connection.cursor() as cursor:
        cursor.execute(sql)
    try:
        found = [each.msg for each in engine_is_safe(databases=["default"])]
    finally:
        connection.close()

    assert [name in each for each in found if "synchronous" in each] == [True] * (not well)


def started(program: str, data: Path, **given: str) -> subprocess.CompletedProcess[str]:
    """What a program does with some settings and no others."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("EBBWRIGHT_")}
    ours = {f"EBBWRIGHT_{key}" if key != "WEB_CONCURRENCY" else key: value for key, value in given.items()}
    return subprocess.run(
        [sys.executable, *program.split()],
        cwd=ROOT,
        env=kept | {"EBBWRIGHT_DATA": str(data)} | ours,
        capture_output=True,
        text=True,
        timeout=60,
    )


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"BASE_URL": "http://workshop.example"}, "E003"),
        ({"BASE_URL": "https://workshop.example"}, "E004"),
        ({"HTTPS": "1"}, "E005"),
        ({"SECRET_KEY": "a quiet word"}, "E002"),
        ({"WEB_CONCURRENCY": "2"}, "E008"),
        ({"DATABASE_URL": "postgresql://127.0.0.1:1/none"}, "E010"),
    ],
)
def test_it_stops_manage_py(tmp_path: Path, given: dict[str, str], code: str) -> None:
    done = started("manage.py check", tmp_path, **given)

    assert done.returncode == 1
    assert f"(health.{code})" in done.stderr
    assert "HINT:" in done.stderr
    assert "a quiet word" not in done.stderr


def test_it_stops_the_web_server(tmp_path: Path) -> None:
    for given, code in (({}, 0), ({"BASE_URL": "http://workshop.example"}, 1)):
        done = started("-m shop.wsgi", tmp_path, **given)
        assert done.returncode == code, done.stderr
    assert "ImproperlyConfigured" in done.stderr
    assert "passwords would cross the network in clear" in done.stderr


def test_it_takes_settings_that_are_safe(tmp_path: Path) -> None:
    large: dict[str, Any] = {
        "BASE_URL": "https://workshop.example",
        "HTTPS": "1",
        "DATABASE_URL": "postgresql://127.0.0.1:1/none",
        "REDIS_URL": "redis://127.0.0.1:1/0",
        "SMTP_URL": "smtp://127.0.0.1:1",
        "MAIL_FROM": "desk@aldermouth.org",
        "SECRET_KEY": KEY,
        "WEB_CONCURRENCY": "4",
    }

    assert started("manage.py check", tmp_path, **large).returncode == 0
    assert started("manage.py check", tmp_path).returncode == 0
