"""The world of the guards, and a running server that knows it."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from shop.staff.models import Token
from shop.staff.rules import Can
from tests.conftest import clients, housed, staffed
from tests.fuzz.served import Served, serving
from tests.guards.world import World


@pytest.fixture
def world(transactional_db: None, settings: Any, tmp_path: Path) -> World:
    """One row of everything that an address may name, with words and photographs that the server can read."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    settings.FILES = tmp_path / "files"
    people = staffed()
    return World(housed(people), clients(people))


@pytest.fixture
def signed_in(world: World) -> dict[str, dict[str, str]]:
    """The headers of each role: a token with every scope, so that the person's own rights decide; none for a stranger."""
    given: dict[str, Any] = {
        "expiry": timedelta(days=30),
        "label": "fuzz",
        "scopes": [str(can) for can in Can],
    }
    secrets = {role: Token.objects.create(user=one, **given)[1] for role, one in world.people.items()}
    secrets["token"] = world.secret
    return {"stranger": {}} | {role: {"Authorization": f"Token {each}"} for role, each in secrets.items()}


@pytest.fixture
def served(world: World, tmp_path: Path) -> Iterator[Served]:
    """The server, on a copy of this world."""
    with serving(tmp_path) as found:
        yield found
