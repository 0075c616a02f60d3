"""A database that threads share, and a hasher that counts who reached it."""

from typing import Any

import pytest
from django.conf import settings as django_settings

from tests.attacks.hashers import Counting
from tests.threads import real_database as real_database

# Headers, addresses, markup, cells and who may what do not ask which engine there is; tries, times and a dump do.
if not django_settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    collect_ignore = [
        "test_cells.py", "test_forgery.py", "test_hosts.py", "test_lines.py", "test_more_fields.py", "test_rights_removed.py",
        "test_sessions.py", "test_who_is_here.py",
    ]  # fmt: skip


@pytest.fixture
def hashed(settings: Any) -> list[str]:
    """Every password that reaches the hasher from now on."""
    settings.PASSWORD_HASHERS = ["tests.attacks.hashers.Counting"]
    Counting.seen = []
    return Counting.seen
