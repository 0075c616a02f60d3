"""A database that threads share, and a hasher that counts who reached it."""

from typing import Any

import pytest

from tests.attacks.hashers import Counting
from tests.threads import real_database as real_database


@pytest.fixture
def hashed(settings: Any) -> list[str]:
    """Every password that reaches the hasher from now on."""
    settings.PASSWORD_HASHERS = ["tests.attacks.hashers.Counting"]
    Counting.seen = []
    return Counting.seen
