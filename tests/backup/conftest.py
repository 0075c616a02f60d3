"""A workshop whose database and data folder other processes share, and places to restore it into."""

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from tests.conftest import ROOT, Api, House
from tests.photographs import encoded, form
from tests.processes import environment
from tests.threads import real_database as real_database
from tests.walk import Walk, ok

PATIENCE_S = 120


@dataclass
class Place:
    """A database and a data folder, reached as an administrator does: by manage.py with the environment's settings."""

    env: dict[str, str]
    said: str = ""
    code: int = field(default=-1)

    @property
    def files(self) -> Path:
        return Path(self.env["EBBWRIGHT_DATA"]) / "files"

    def manage(self, *arguments: str | Path) -> int:
        """The exit code of a command; what it wrote is kept in `said`."""
        done = subprocess.run(
            [sys.executable, "manage.py", *arguments],
            cwd=ROOT,
            env=self.env,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=PATIENCE_S,
        )
        self.said, self.code = done.stdout, done.returncode
        return self.code


@pytest.fixture
def shop(real_database: None, house: House, api: dict[str, Api], settings: Any, tmp_path: Path) -> Place:
    """A job that was walked to its end, two photographs, and whoever works there still does."""
    settings.FILES = tmp_path / "files"
    walk = Walk(house, api).to("handed_back")
    for colour in ("navy", "teal"):
        photograph(api, walk, colour)
    return Place({**environment(), "EBBWRIGHT_DATA": str(tmp_path)})


def photograph(api: dict[str, Api], walk: Walk, colour: Any) -> None:
    """One more photograph of the walk's item."""
    sent = form(encoded(colour=colour))
    ok(api["counter"].post(f"items/{walk.item.uid}/photographs", sent, format="multipart"), 201)


@pytest.fixture
def elsewhere(shop: Place, tmp_path: Path) -> Iterator[Place]:
    """An empty database and an empty data folder on the same engine."""
    env = {**shop.env, "EBBWRIGHT_DATA": str(tmp_path / "elsewhere")}
    if connection.vendor == "sqlite":
        yield Place(env)
        return
    name = f"{connection.settings_dict['NAME']}_elsewhere"
    address = shop.env["EBBWRIGHT_DATABASE_URL"].rpartition("/")[0]
    with connection.cursor() as cursor:
        cursor.execute(f'CREATE DATABASE "{name}"')
    try:
        yield Place({**env, "EBBWRIGHT_DATABASE_URL": f"{address}/{name}"})
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture
def archive(shop: Place, tmp_path: Path) -> Path:
    """A backup of the workshop."""
    path = tmp_path / "backups" / "monday"
    assert shop.manage("backup", path) == 0, shop.said
    return path
