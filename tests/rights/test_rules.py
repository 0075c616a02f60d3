"""What names somebody, what is left of a record, until when there must be an answer."""

from datetime import date

import pytest

from jobs.rights.rules import asking_refusals, deadline, second_refusals, without
from jobs.whose.rules import names, needles, with_a_number

TEXTS = needles(["Ída  Marsh", "ida@marsh.example", "+441632960417", "", "Jo"])


def test_it_works() -> None:
    assert TEXTS == ["+441632960417", "ida@marsh.example", "ída marsh"]


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("ÍDA\nMARSH rang", True),
        ("mail to IDA@marsh.example.", True),
        ("call (01632) 960-417", True),
        ("Ída came", False),
        ("Ída Marshall rang", False),
        ("9.60 bar, 417 hours, 1632", False),
        ("", False),
    ],
)
def test_it_knows_a_text_that_names_somebody(text: str, named: bool) -> None:
    assert names(text, TEXTS) is named


def test_it_looks_for_the_lines_that_tell_where_somebody_lives() -> None:
    assert with_a_number("c/o Brandt\nKvistgata 7\n1042 Aldermouth\nGrayvoe") == [
        "Kvistgata 7",
        "1042 Aldermouth",
    ]
    assert with_a_number("") == []


def test_it_leaves_of_a_record_what_names_nobody() -> None:
    mark = {"kind": "owner's mark", "value": "IM", "state": "read"}
    serial = {"kind": "serial", "value": "S-1", "state": "read"}
    record = {
        "owner": "K-0001",
        "item": {"marks": [mark, serial]},
        "words": ["Ída Marsh said so", "worn"],
        "signer": "Ída Marsh",
        "n": 1,
    }

    assert without(record, TEXTS) == {
        "owner": "K-0001",
        "item": {"marks": [mark | {"value": "(erased)"}, serial]},
        "words": ["(erased)", "worn"],
        "signer": "Ída Marsh",  # she works here
        "n": 1,
    }
    assert record["words"] == ["Ída Marsh said so", "worn"]


# Article 12, paragraph 3 of the GDPR, read at second hand: within one month; a month that has no such day ends on its last.
@pytest.mark.parametrize(
    ("asked", "until"),
    [
        (date(2026, 11, 27), date(2026, 12, 27)),
        (date(2027, 1, 31), date(2027, 2, 28)),
        (date(2026, 12, 31), date(2027, 1, 31)),
    ],
)
def test_it_gives_a_month(asked: date, until: date) -> None:
    assert deadline(asked) == until


def test_it_refuses_with_every_reason() -> None:
    day = date(2026, 11, 27)
    assert [r.code for r in asking_refusals(date(2026, 11, 28), day, waiting=True)] == [
        "in-the-future",
        "asked",
    ]
    assert asking_refusals(day, day, waiting=False) == []
    assert [r.code for r in second_refusals(1, None)] == ["two-people"]
    assert [r.code for r in second_refusals(1, 1)] == ["two-people"]
    assert second_refusals(1, 2) == []
