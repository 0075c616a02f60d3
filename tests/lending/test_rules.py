"""When a piece of our own gear is lent, as a table."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from jobs.lending.rules import Gear, Watch, borrower_refusals, gear_refusals

ON, UNTIL = date(2026, 11, 27), date(2026, 12, 4)
WATCHED = Watch("Overhaul", date(2026, 12, 5))
GOOD = Gear("E-00012", ours=True, standing="in use", watches=(WATCHED,))


def found(**changes: Any) -> list[str]:
    return [each.code for each in gear_refusals(replace(GOOD, **changes), ON, UNTIL)]


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({}, []),
        ({"closed": "serviced"}, []),
        ({"watches": (WATCHED, Watch("By dives"))}, []),  # only a count decides, and it is not reached
        ({"ours": False}, ["not-ours"]),
        ({"standing": "put away dry"}, ["not-in-use"]),
        ({"standing": "sold"}, ["not-in-use"]),
        ({"standing": "lost"}, ["not-in-use"]),
        ({"standing": "condemned"}, ["not-in-use"]),
        ({"watches": ()}, ["no-clock"]),
        ({"watches": (Watch("Visual", unknown=True),)}, ["history-unknown"]),
        ({"watches": (Watch("Visual", date(2026, 11, 26)),)}, ["overdue"]),
        ({"watches": (Watch("Visual", ON),)}, ["falls-due"]),
        ({"watches": (WATCHED, Watch("Visual", UNTIL))}, ["falls-due"]),  # on the day it is back
        ({"watches": (WATCHED, Watch("Visual", date(2026, 11, 30)))}, ["falls-due"]),
        ({"job": "Job 7", "closed": ""}, ["open-job"]),
        ({"closed": "failed"}, ["not-serviced"]),
        ({"closed": "declined"}, ["not-serviced"]),
        ({"closed": "disposed of"}, ["not-serviced"]),
        ({"evidence": True}, ["held"]),
        ({"borrower": "Maja Lindqvist"}, ["lent"]),
        (
            {
                "ours": False, "standing": "lost", "job": "Job 7", "evidence": True, "borrower": "Maja Lindqvist",
                "watches": (Watch("A", unknown=True), Watch("B", date(2020, 1, 1)), Watch("C", UNTIL)),
            },
            ["not-ours", "not-in-use", "history-unknown", "overdue", "falls-due", "open-job", "held", "lent"],
        ),
    ],
)  # fmt: skip
def test_it_works(changes: dict[str, Any], codes: list[str]) -> None:
    assert found(**changes) == codes


@pytest.mark.parametrize(
    ("until", "codes"), [(ON, []), (date(2026, 11, 26), ["day-past"]), (date(2026, 12, 5), ["falls-due"])]
)
def test_it_looks_at_the_days_of_the_loan(until: date, codes: list[str]) -> None:
    assert [each.code for each in gear_refusals(GOOD, ON, until)] == codes


def test_it_names_the_clock_and_the_day() -> None:
    (each,) = gear_refusals(GOOD, ON, WATCHED.due or ON)

    assert each.sentence == "Overhaul falls due on 5 December 2026, before E-00012 is back."
    assert each.pointer == "until"


@pytest.mark.parametrize(("ours", "codes"), [(True, ["to-ourselves"]), (False, [])])
def test_it_lends_to_others_only(ours: bool, codes: list[str]) -> None:
    assert [each.code for each in borrower_refusals("Our own gear", ours=ours)] == codes
