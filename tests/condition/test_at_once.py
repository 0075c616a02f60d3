"""Two counters at the same instant: every look is kept under a number of its own, and of a list one version is."""

from typing import Any

from jobs.condition.models import Answer, ConditionList, Look
from shop.journal.reads import faults
from tests.conftest import Api, House
from tests.threads import real_database as real_database
from tests.threads import statuses, together
from tests.walk import Walk

PEOPLE = 4


def test_it_works(real_database: None, house: House) -> None:
    roles = ["counter", "technician"]
    walk = Walk(house, {role: Api(house.people[role]) for role in roles})
    line, by = str(walk.row.line.uid), [house.people[role] for role in roles]

    def look(i: int) -> Any:
        seen = {"said": "seen", "note": f"scratch {i}"}
        piece = {"line": line, "version": 0, "rest_fine": True, "answers": [seen]}
        return Api(by[i % 2]).post(f"drop-offs/{walk.drop_off}/looks", {"pieces": [piece]})

    assert statuses(together(PEOPLE, look)) == {201: PEOPLE}
    assert sorted(Look.objects.values_list("n", flat=True)) == [1, 2, 3, 4]
    notes = Answer.objects.exclude(note="").values_list("note", flat=True)
    assert sorted(notes) == [f"scratch {i}" for i in range(PEOPLE)]
    assert list(faults()) == []


def test_it_keeps_one_version_of_a_list(real_database: None, house: House) -> None:
    lead = house.people["lead"]

    def write(i: int) -> Any:
        return Api(lead).put("condition-lists/bcd", {"asks": [f"Buckle {i}"]}, seen=0)

    assert statuses(together(PEOPLE, write)) == {200: 1, 412: PEOPLE - 1}
    assert ConditionList.objects.get().n == 1
