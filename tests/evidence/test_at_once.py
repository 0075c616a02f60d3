"""A hold and work in the same moment: the work was before it, or is refused."""

from typing import Any

import pytest

from jobs.flow.models import Hold
from jobs.worksheet.models import StepDone
from tests.conftest import Api, House
from tests.threads import real_database, together  # noqa: F401 - a fixture
from tests.walk import EVIDENCE, Walk

pytestmark = pytest.mark.usefixtures("real_database")


def test_it_works(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api).to("stripping")

    def act(i: int) -> Any:
        if i:
            return walk.step("yoke")
        return api["counter"].post(f"items/{walk.item.uid}/evidence", EVIDENCE)

    kept, step = together(2, act)

    assert kept.status_code == 201
    assert step.status_code in (201, 409)
    done = StepDone.objects.filter(round__job=walk.row)
    assert done.count() == (step.status_code == 201)
    assert all(row.recorded_at <= Hold.objects.get().at for row in done)


def test_it_is_kept_once(house: House, api: dict[str, Api]) -> None:
    item = house.item()

    said = together(3, lambda i: api["counter"].post(f"items/{item.uid}/evidence", EVIDENCE).status_code)

    assert sorted(said) == [201, 409, 409]
    assert Hold.objects.count() == 1
