"""A5: nobody learns from the time that an answer takes whether an address is somebody's.

Times are measured alternately and held against each other by rank. Chance alone gives p <= 0.01 once in a hundred, and a
busy machine may pause for one of the two, so a difference counts only when it is there three times in a row.
"""

from collections.abc import Callable
from statistics import median
from time import perf_counter
from typing import Any

import pytest
from django.core.cache import cache
from scipy.stats import mannwhitneyu

from shop.staff.models import Person
from tests.attacks.test_who_is_here import forgotten, sign_in
from tests.conftest import PASSWORD

MOST_APART_S = 0.010


def apart(ask: Callable[[str], Any], here: list[str], nobody: list[str]) -> bool:
    """Whether the times for somebody and for nobody can be told apart."""
    took: dict[bool, list[float]] = {True: [], False: []}
    for n, pair in enumerate(zip(here, nobody, strict=True)):
        cache.clear()
        for email in pair if n % 2 else pair[::-1]:
            began = perf_counter()
            ask(email)
            took[email in here].append(perf_counter() - began)
    difference = abs(median(took[True]) - median(took[False]))
    return difference >= MOST_APART_S or mannwhitneyu(took[True], took[False]).pvalue <= 0.01


@pytest.mark.parametrize(("ask", "pairs"), [(sign_in, 150), (forgotten, 30)])
def test_it_works(people: dict[str, Person], ask: Callable[[str], Any], pairs: int) -> None:
    rows = [Person(name="N", email=f"here{n}@aldermouth.example", signing_secret="x") for n in range(pairs)]
    for row in rows:
        row.set_password(PASSWORD)
    Person.objects.bulk_create(rows)
    nobody = [f"gone{n}@aldermouth.example" for n in range(pairs)]

    assert not all(apart(ask, [row.email for row in rows], nobody) for _ in range(3))
