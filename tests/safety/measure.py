"""How long a notice takes over many items: `python -m pytest -s tests/safety/measure.py`, EBBWRIGHT_ITEMS says how many."""

import os
import sys
from time import perf_counter
from typing import Any

import pytest
from django.db import connection

from jobs.safety.actions import go_on, look_at_items, make_notice
from jobs.safety.models import Look, Match
from jobs.safety.rules import How
from jobs.speed.management.commands._rows import UNSTATED, count_on
from jobs.speed.management.commands._sql import FROM, insert, key, numbers
from shop.gear.models import Identifier, Item
from shop.gear.rules import mark_key
from tests.conftest import House

ITEMS = int(os.environ.get("EBBWRIGHT_ITEMS", "2000000"))
# One serial in 1000 is unreadable, one in 5000 has no letters; the others are TH1000001 and so on.
SERIAL = "CASE WHEN n % 1000 = 0 THEN '' WHEN n % 5000 = 1 THEN '' || n ELSE 'TH' || n END"
KEY = "CASE WHEN n % 1000 = 0 THEN '' WHEN n % 5000 = 1 THEN '07' || n ELSE '594707' || n END"
NOTICES: dict[str, dict[str, Any]] = {
    "one range of 20 000 serials": {"ranges": [f"TH{FROM + 500_000} to TH{FROM + 519_999}"]},
    "500 ranges of 40 serials": {
        "ranges": [f"TH{FROM + 3000 * n} to TH{FROM + 3000 * n + 39}" for n in range(1, 501)]
    },
    "20 beginnings of 1 to 100 serials": {"ranges": [f"TH10{n}34*" for n in range(10, 30)]},
    "a range with letters, digits, letters": {"ranges": ["TH1000001A to TH1009999C"]},
    "numbers alone": {"ranges": [f"{FROM + 1000} to {FROM + 9000}"]},
}


def tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")


def fill(house: House) -> None:
    own = {"id": "n", "uid": key("e"), "number": "n", "version": "1", "owner_id": f"{house.customer.pk}"}
    models = [each.pk for each in house.models.values()]
    mark = {
        "uid": key("1"),
        "item_id": "n",
        "kind": "'serial'",
        "value": SERIAL,
        "key": KEY,
        "state": "'read'",
    }
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET statement_timeout = 0")
        for statement in (
            *numbers(ITEMS),
            insert("gear_item", own | UNSTATED | {"model_id": f"{models[0]}"}, ITEMS),
            insert("gear_identifier", mark, ITEMS),
            *(["RESET statement_timeout"] if connection.vendor == "postgresql" else ["ANALYZE"]),
        ):
            cursor.execute(statement)
        if connection.vendor == "postgresql":  # as the server does by itself
            cursor.execute("VACUUM ANALYZE gear_item")
            cursor.execute("VACUUM ANALYZE gear_identifier")
    count_on()
    for row in Identifier.objects.filter(item__in=[FROM + 1, FROM + 2, FROM + 5000]):
        assert row.key == mark_key(row.value)


@pytest.mark.django_db(transaction=True)
def test_it_works(house: House) -> None:
    began = perf_counter()
    fill(house)
    tell(f"\n{connection.vendor}, {ITEMS} items of one model, filled in {perf_counter() - began:.0f} s")
    lead, model = house.people["lead"], house.models["first_stage"]
    for what, named in NOTICES.items():
        began = perf_counter()
        notice = make_notice(by=lead, title=what, source="measured", gear_models=[model], **named)
        look = Look.objects.get(notice=notice)
        look = go_on(look)
        took = perf_counter() - began
        rows = Match.objects.filter(notice=notice)
        tell(
            f"{what}: {took:.2f} s, {rows.filter(how=How.NAMED).count()} named, "
            f"{rows.filter(how=How.UNCLEAR).count()} that cannot be compared"
        )
    began = perf_counter()
    look_at_items(items=[Item.objects.get(pk=FROM + 7)])
    tell(f"one item against {len(NOTICES)} notices: {1000 * (perf_counter() - began):.1f} ms")
