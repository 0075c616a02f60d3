"""The ladder, when letters may go, and what stands in one."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

import pytest

from jobs.reminders.rules import (
    SHIPPED,
    Due,
    Times,
    days_in_words,
    events,
    ladder_refusals,
    lines,
    read_rungs,
    rung,
    times_refusals,
)

DUE, UID = date(2026, 6, 1), UUID(int=7)


@pytest.mark.parametrize(
    ("on", "reached"),
    [
        (date(2026, 4, 5), None),
        (date(2026, 4, 6), -56),
        (date(2026, 5, 17), -56),
        (date(2026, 5, 18), -14),
        (date(2026, 5, 31), -14),
        (date(2026, 6, 1), 0),
        (date(2026, 6, 30), 0),
        (date(2026, 7, 1), 30),
        (date(2030, 1, 1), 30),
    ],
)
def test_it_works(on: date, reached: int | None) -> None:
    assert rung(DUE, on) == reached
    assert SHIPPED == (-56, -14, 0, 30)


@pytest.mark.parametrize(
    ("rungs", "codes"),
    [
        ([0], []),
        ([-365, -1, 0, 1, 30, 365], []),
        ([], ["rungs"]),
        ([1, 2, 3, 4, 5, 6, 7], ["rungs"]),
        ([-366, 366], ["too-far"]),
        ([0, 0], ["not-rising"]),
        ([30, 0, -400, 1, 2, 3, 4], ["rungs", "too-far", "not-rising"]),
    ],
)
def test_it_tells_every_reason_against_a_ladder(rungs: list[int], codes: list[str]) -> None:
    assert [each.code for each in ladder_refusals(rungs)] == codes


@pytest.mark.parametrize(
    ("text", "rungs"),
    [
        ("-56, -14, 0, +30", [-56, -14, 0, 30]),
        ("−56;0", [-56, 0]),
        ("", []),
        ("soon", None),
        ("1.5", None),
        ("٣", None),
        ("999999", None),
    ],
)
def test_it_reads_days_as_people_type_them(text: str, rungs: list[int] | None) -> None:
    assert read_rungs(text) == rungs


def test_it_says_days_in_words() -> None:
    assert days_in_words([-56, -1, 0, 30]) == "56 days before, 1 day before, on the day, 30 days after"


@pytest.mark.parametrize(
    ("begin", "end", "weekdays", "codes"),
    [
        (8, 20, [6], []),
        (8, 11, [], []),
        (8, 10, [], ["hours"]),
        (20, 8, range(7), ["hours", "always-closed"]),
    ],
)
def test_it_tells_why_letters_could_not_go(begin: int, end: int, weekdays: Any, codes: list[str]) -> None:
    assert [each.code for each in times_refusals(begin, end, weekdays)] == codes


def test_it_skips_closed_days() -> None:
    times = Times(weekdays=[5, 6], days=["2026-12-25", "2026-12-28"])

    assert times.next_day(date(2026, 12, 24)) == date(2026, 12, 29)
    assert not times.may_go(datetime(2026, 12, 25, 12))  # noqa: DTZ001 - local, as clocks on the wall show it
    assert Times(weekdays=range(7)).next_day(date(2026, 12, 24)) is None


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", ["Hesk (E-1): Overhaul, was due on 1 June 2026", "Tor (E-2): Overhaul, due on 12 June 2026"]),
        ("de", ["Hesk (E-1): Overhaul, war fällig am 1. Juni 2026", "Tor (E-2): Overhaul, fällig am 12. Juni 2026"]),
        ("fr", ["Hesk (E-1): Overhaul, échéance dépassée depuis le 1er juin 2026", "Tor (E-2): Overhaul, échéance le 12 juin 2026"]),
        ("es", ["Hesk (E-1): Overhaul, venció el 1 de junio de 2026", "Tor (E-2): Overhaul, vence el 12 de junio de 2026"]),
    ],
)  # fmt: skip
def test_it_names_every_item_in_the_readers_language(language: str, said: list[str]) -> None:
    dues = [Due("Hesk (E-1)", "Overhaul", DUE, UID), Due("Tor (E-2)", "Overhaul", date(2026, 6, 12), UID, 3)]

    assert lines(dues, date(2026, 6, 5), language) == said
    days = events(dues, "workshop.example", language)
    assert [(each.uid, each.sequence) for each in days] == [(f"{UID}@workshop.example", n) for n in (0, 3)]
