"""What is known of who will come: clocks, services of the past, jobs that are open and jobs that no clock foretold."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.ahead.reads import needs
from jobs.flow.models import Job
from shop.clocks.actions import Past, restart_past, set_going
from shop.gear.models import Item
from shop.workshop.reads import at, noon, today
from tests.conftest import Api, House
from tests.walk import Walk


def served(house: House, item: Item, *days_ago: int, months: int = 12) -> None:
    """Services of long ago, the oldest first."""
    past = [
        Past(item.pk, "service", "Service", months, today() - timedelta(days=n), f"test:{item.pk}:{n}")
        for n in days_ago
    ]
    restart_past(by="test", services=past)


def asked(house: House) -> list[tuple[int, int]]:
    _, past = needs(today())
    return [(span.asked, span.came) for span in past.spans]


def test_it_works(house: House) -> None:
    """Due in three months; the plan renews one filter, and the prior alone says who comes."""
    served(house, house.item(), 275)

    found, past = needs(today())

    (coming,) = found["TH-301"].coming
    assert (found["TH-301"].waiting, coming.pieces) == (0, 1)
    assert coming.weeks[:30].sum() == pytest.approx(1 - 0.9 * 0.8 * 0.7 * 0.8, abs=0.06)
    assert (past.calls, past.others, past.without_history, past.without_plan) == (1, 0, 0, 0)


def test_a_workshop_without_anything(house: House) -> None:
    found, past = needs(today())

    assert found == {}
    assert (past.calls, past.others, past.weeks) == (0, 0, 4)
