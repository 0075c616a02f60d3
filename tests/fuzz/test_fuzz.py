"""Every operation of the running server, as every role: no fault, and each answer as the OpenAPI document says.

Repeat a run by hand with the seed that it told: EBBWRIGHT_CASES=50000 EBBWRIGHT_SEED=… pytest -s tests/fuzz/test_fuzz.py
"""

import os
import random
import sys
from typing import Any

import pytest
import schemathesis
from django.db import connection
from schemathesis.generation.hypothesis.builder import HypothesisTestMode

from tests.fuzz.cases import ROLES, Fuzz
from tests.fuzz.served import Served
from tests.guards.test_schema import SAVED
from tests.guards.world import World

ASKED = os.environ.get("EBBWRIGHT_CASES", "")  # more cases by hand, other ones each time
FEW, MANY = (4, 10) if connection.vendor == "sqlite" else (2, 5)  # of each operation, beside the boundaries
LEAST = int(ASKED or (5000 if connection.vendor == "sqlite" else 2000))
SEED = int(os.environ.get("EBBWRIGHT_SEED") or (random.randrange(2**32) if ASKED else 4))
BOUNDARIES, CHANCE = HypothesisTestMode.COVERAGE, HypothesisTestMode.FUZZING


@pytest.fixture
def fuzz(world: World, served: Served, signed_in: dict[str, dict[str, str]]) -> Fuzz:
    """Nothing is sent yet."""
    return Fuzz(world, served, signed_in, SEED, LEAST // 25)


def test_it_works(fuzz: Fuzz) -> None:
    sys.stdout.write(f"seed {SEED}\n")
    read: list[Any] = list(schemathesis.openapi.from_path(SAVED).get_all_operations())
    operations = [each.ok() for each in read]
    for operation in operations:
        fuzz.operation(operation, [BOUNDARIES, CHANCE], FEW if operation.label.startswith("GET") else MANY)
    while sum(fuzz.sent.values()) < LEAST:
        for operation in operations:
            fuzz.operation(operation, [CHANCE], 40)
    missed = sorted(set(fuzz.entries) - fuzz.reached)
    said = f"{sum(fuzz.sent.values())} cases, 2xx from all operations but {missed}; {fuzz.roles}; {fuzz.statuses}"
    sys.stdout.write("\n".join([said, *(f"{what}: {why}" for what, why in fuzz.wrong.items()), ""]))

    assert {operation.label for operation in operations} == set(fuzz.entries) == set(fuzz.sent)
    assert fuzz.wrong == {}, f"seed {SEED}"
    assert len(missed) <= len(operations) / 5
    assert set(fuzz.roles) == set(ROLES)
    assert min(fuzz.roles.values()) > LEAST / 20
