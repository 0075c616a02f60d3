"""A page behind a link asks as often of twelve pieces as of one."""

from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from jobs.flow.models import DropOff
from tests.conftest import Api, House
from tests.porthole.made import linked
from tests.walk import ok


def asked(house: House, api: dict[str, Api], count: int) -> int:
    """How many statements the page of so many pieces takes, all of them closed."""
    plan = str(house.plans["first_stage"].uid)
    items = [house.item(serial=f"N-{count}-{n}") for n in range(count)]
    lines = [{"item": str(item.uid), "plan": plan, "contents": "no gas"} for item in items]
    given: dict[str, Any] = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": lines}
    row = DropOff.objects.get(uid=ok(api["counter"].post("drop-offs", given), 201)["uid"])
    row.jobs.update(leg="signed_off")
    for job in row.jobs.all():
        job.rounds.update(outcome="failed")
    path, client = linked(row), Client()
    client.get(path)  # plans are read once by a process
    with CaptureQueriesContext(connection) as queries:
        assert client.get(path).status_code == 200
    return len(queries)


def test_it_works(house: House, api: dict[str, Api]) -> None:
    assert asked(house, api, 12) == asked(house, api, 1)
