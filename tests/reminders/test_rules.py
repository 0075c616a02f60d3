"""The ladder, and what a letter says."""

from datetime import date

import pytest

from jobs.reminders.rules import LADDER, Due, letter, rung, subject

DUE = date(2026, 6, 1)


@pytest.mark.parametrize(
    ("on", "reached"),
    [
        (date(2026, 5, 3), None),
        (date(2026, 5, 4), -28),
        (date(2026, 5, 31), -28),
        (date(2026, 6, 1), 0),
        (date(2026, 6, 30), 0),
        (date(2026, 7, 1), 30),
        (date(2030, 1, 1), 30),
    ],
)
def test_it_works(on: date, reached: int | None) -> None:
    assert rung(DUE, on) == reached


def test_it_climbs_three_rungs() -> None:
    assert LADDER == (-28, 0, 30)


def test_it_says_in_the_subject_whether_something_is_late_and_nothing_personal() -> None:
    dues = [Due("First stage", "Overhaul", DUE)]

    assert subject(dues, date(2026, 6, 1)) == "Your diving gear is due for service"
    assert subject(dues, date(2026, 6, 2)) == "Your diving gear is past its service date"


def test_it_names_every_item_and_cautions() -> None:
    dues = [
        Due("First stage, Tarnwell Hesk (E-00001)", "Overhaul", DUE),
        Due("Second stage, Tarnwell Hesk (E-00002)", "Overhaul", date(2026, 6, 12)),
    ]

    text = letter("Maja Lindqvist", "Aldermouth Dive Workshop", dues, date(2026, 6, 5))

    assert text.startswith("Dear Maja Lindqvist,\n")
    assert "- First stage, Tarnwell Hesk (E-00001): Overhaul, was due on 1 June 2026\n" in text
    assert "- Second stage, Tarnwell Hesk (E-00002): Overhaul, due on 12 June 2026\n" in text
    assert "Please do not dive with gear that is past its service date." in text
    assert text.endswith("Aldermouth Dive Workshop\n")
