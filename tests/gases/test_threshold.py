"""The oxygen threshold: the lead sets it, at the version that was seen."""

import json
from typing import Any

import pytest

from shop.journal.models import Entry
from shop.workshop.models import Workshop
from tests.conftest import Api
from tests.rows import nothing_changes, pointers, said, send
from tests.walk import ok


def test_it_works(api: dict[str, Api]) -> None:
    answer = api["counter"].get("oxygen-threshold")
    assert (ok(answer), answer["ETag"]) == ({"threshold": "23.5", "version": 1}, '"1"')

    made = ok(api["lead"].post("oxygen-threshold", {"threshold": "22"}, seen=1))

    assert made == {"threshold": "22.0", "version": 2}
    entry = Entry.objects.get(subject="workshop", verb="settings changed")
    assert json.loads(entry.facts) == {"oxygen threshold": "22 %", "version": 2}


def test_it_is_set_on_its_page(pages: dict[str, Any]) -> None:
    assert "more than 23.5 % oxygen" in said(pages["counter"].get("/office/oxygen-threshold"), 200)

    send(pages["lead"], "/office/oxygen-threshold/set", {"threshold": "25.5"})

    page = said(pages["lead"].get("/office/oxygen-threshold"), 200)
    assert "more than 25.5 % oxygen" in page
    assert "The default of 23.5 % is the strictest" in page


@pytest.mark.parametrize(
    "share", ["20.9", "40.1", "23.55", "", None, "NaN", "-1", "1e9", "much", True, [], "٢٣٫٥"]
)
def test_it_refuses_what_is_no_threshold(api: dict[str, Api], share: Any) -> None:
    with nothing_changes():
        assert pointers(api["lead"].post("oxygen-threshold", {"threshold": share}, seen=1)) == ["/threshold"]


def test_it_refuses_everybody_else_and_who_saw_another_version(api: dict[str, Api]) -> None:
    body = {"threshold": "40"}

    with nothing_changes():
        for role in ("counter", "technician", "inspector", "storekeeper"):
            assert api[role].post("oxygen-threshold", body, seen=1).status_code == 403
        assert api["lead"].post("oxygen-threshold", body, seen=2).status_code == 412
        assert api["lead"].post("oxygen-threshold", body).status_code == 428
    ok(api["lead"].post("oxygen-threshold", body, seen=1))
    with nothing_changes():
        assert api["lead"].post("oxygen-threshold", body, seen=1).status_code == 412
    assert Workshop.objects.get().oxygen_threshold == 400
