"""The world that guards look at."""

import pytest

from tests.conftest import Api, House
from tests.guards.world import World


@pytest.fixture
def world(house: House, api: dict[str, Api]) -> World:
    """One row of everything that an address may name."""
    return World(house, api)
