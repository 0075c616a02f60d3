"""What a doubt touches, how it may be answered, and what its letter says."""

from dataclasses import replace
from datetime import date

import pytest

from jobs.notices.rules import (
    About,
    Subject,
    Work,
    answer_refusals,
    choices_of,
    subject_errors,
    touches,
)

MAY = date(2026, 5, 10)
WORK = Work("attempt", 7, MAY, frozenset({3, 4}), 9, (1, "A"))
GAUGE = Subject("instrument", 9, date(2026, 5, 1), date(2026, 5, 31))


def test_it_works() -> None:
    assert touches(Subject("attempt", 7), WORK)
    assert not touches(Subject("attempt", 8), WORK)


@pytest.mark.parametrize(
    ("subject", "is_touched"),
    [
        (Subject("step", 7), False),
        (Subject("plan_version", 7), False),
        (GAUGE, True),
        (replace(GAUGE, row=8), False),
        (replace(GAUGE, first=MAY, last=MAY), True),
        (replace(GAUGE, first=date(2026, 5, 11)), False),
        (replace(GAUGE, last=date(2026, 5, 9)), False),
        (replace(GAUGE, about="person", row=3), True),
        (replace(GAUGE, about="person", row=4), True),
        (replace(GAUGE, about="person", row=9), False),
        (replace(GAUGE, about="person", row=4, last=date(2026, 5, 9)), False),
        (Subject("lot", 5, lots=frozenset({(1, "A"), (2, "A")})), True),
        (Subject("lot", 5, lots=frozenset({(1, "B"), (2, "A")})), False),
    ],
)
def test_it_touches(subject: Subject, is_touched: bool) -> None:
    assert touches(subject, WORK) is is_touched


def test_it_touches_no_work_without_a_lot_or_an_instrument() -> None:
    bare = Work("step", 7, MAY)

    assert touches(Subject("step", 7), bare)
    assert not touches(Subject("lot", 7, lots=frozenset({(1, "A")})), bare)
    assert not touches(GAUGE, bare)


@pytest.mark.parametrize(
    ("given", "first", "last", "wrong"),
    [
        ([], None, None, ["non_field_errors"]),
        (["lot", "step"], None, None, ["non_field_errors"]),
        (["lot"], None, None, []),
        (["lot"], MAY, None, ["from_day"]),
        (["attempt"], None, MAY, ["to_day"]),
        (["person"], None, None, ["from_day", "to_day"]),
        (["person"], MAY, None, ["to_day"]),
        (["instrument"], MAY, MAY, []),
        (["instrument"], MAY, date(2026, 5, 9), ["to_day"]),
    ],
)
def test_it_asks_for_one_subject_and_its_period(
    given: list[str], first: date | None, last: date | None, wrong: list[str]
) -> None:
    assert list(subject_errors(given, first, last)) == wrong


@pytest.mark.parametrize(
    ("leg", "outcome", "here", "choices"),
    [
        ("testing", "", True, ["stands", "done again"]),
        ("signed_off", "serviced", True, ["stands", "done again"]),
        ("signed_off", "declined", True, ["stands", "done again", "told"]),
        ("handed_back", "serviced", False, ["told"]),
        ("disposed", "declined", False, ["told"]),
        ("handed_back", "serviced", True, ["stands", "done again"]),  # it is here again under another job
    ],
)
def test_it_offers_answers(leg: str, outcome: str, here: bool, choices: list[str]) -> None:
    assert list(choices_of(leg, outcome, here=here)) == choices


@pytest.mark.parametrize(
    ("became", "leg", "here", "rests", "codes"),
    [
        ("stands", "testing", True, True, []),
        ("done again", "testing", True, True, ["rests-still"]),
        ("done again", "testing", True, False, []),
        ("done again", "handed_back", True, True, []),
        ("told", "testing", True, False, ["wrong-answer"]),
        ("stands", "handed_back", False, True, ["wrong-answer"]),
        ("told", "handed_back", False, True, []),
    ],
)
def test_it_takes_an_answer(became: str, leg: str, here: bool, rests: bool, codes: list[str]) -> None:
    found = answer_refusals(became, leg, "serviced", here=here, rests=rests, answered=False)

    assert [each.code for each in found] == codes
    again = answer_refusals(became, leg, "serviced", here=here, rests=rests, answered=True)
    assert [each.code for each in again] == ["answered-before"]


def test_it_names_its_columns() -> None:
    assert [about.value for about in About] == [
        "attempt",
        "step",
        "instrument",
        "person",
        "lot",
        "plan_version",
    ]
