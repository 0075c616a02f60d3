"""When a rule asks for something, and for which gear it holds, by tables."""

from dataclasses import dataclass
from datetime import date

import pytest

from shop.intervals.rules import (
    Counted,
    Due,
    History,
    Limit,
    Material,
    Use,
    applies,
    due,
    longest,
    plain,
    reckon,
    why,
)

DONE = date(2026, 3, 15)
KNOWN = History(last=DONE)


@pytest.mark.parametrize(
    ("limit", "history", "expected"),
    [
        (Limit(months=12), KNOWN, Due(date(2027, 3, 15))),
        (Limit(months=12, month_end=True), KNOWN, Due(date(2027, 3, 31))),
        (Limit(months=12, grace_days=30), KNOWN, Due(date(2027, 3, 15), grace=date(2027, 4, 14))),
        (Limit(months=12), History(), Due(unknown=True)),
        (Limit(months=12), History(in_service=DONE), Due(unknown=True)),
        (Limit(months=12, anchor="entry into service"), History(in_service=DONE), Due(date(2027, 3, 15))),
        (Limit(months=12, anchor="entry into service"), History(made=DONE), Due(unknown=True)),
        (Limit(months=12, anchor="manufacture"), History(made=DONE), Due(date(2027, 3, 15))),
        # Once it was done, the first days count no more.
        (Limit(months=12, anchor="manufacture"), History(DONE, date(2020, 1, 1)), Due(date(2027, 3, 15))),
        # Only a count decides, and it is not reached: neither unknown nor due.
        (Limit(dives=100), KNOWN, Due()),
    ],
)
def test_it_is_due(limit: Limit, history: History, expected: Due) -> None:
    assert due(limit, history) == expected


BEFORE, AFTER, LATER = date(2026, 3, 1), date(2026, 6, 1), date(2026, 9, 1)


@pytest.mark.parametrize(
    ("counted", "day"),
    [
        ([(AFTER, 99)], None),
        ([(AFTER, 100)], AFTER),
        # What was counted before the service does not count again.
        ([(BEFORE, 40), (AFTER, 139)], None),
        ([(BEFORE, 40), (AFTER, 139), (LATER, 140)], LATER),
        # A count of the day of the service is before it.
        ([(DONE, 500), (AFTER, 599)], None),
    ],
)
def test_it_counts_dives(counted: list[tuple[date, int]], day: date | None) -> None:
    rows = tuple(Counted("dives", on, total) for on, total in counted)
    assert due(Limit(dives=100), History(DONE, counted=rows)).day == day
    # Hours are another count.
    assert due(Limit(hours=100), History(DONE, counted=rows)).day is None


def test_it_takes_whichever_comes_first() -> None:
    both = Limit(months=12, dives=100)
    reached = History(DONE, counted=(Counted("dives", AFTER, 100),))
    assert due(both, reached).day == AFTER
    assert due(both, KNOWN).day == date(2027, 3, 15)


@pytest.mark.parametrize(
    ("limits", "expected"),
    [
        ([], Due()),
        ([Limit()], Due()),
        ([Limit(months=24), Limit(months=12)], Due(date(2027, 3, 15), which=1)),
        ([Limit(months=12), Limit(months=12)], Due(date(2027, 3, 15), which=0)),
        ([Limit(), Limit(months=12)], Due(date(2027, 3, 15), which=1)),
        ([Limit(dives=9), Limit(months=12)], Due(date(2027, 3, 15), which=1)),
        (
            [Limit(months=12), Limit(months=24, grace_days=1)],
            Due(date(2027, 3, 15), which=0, grace=date(2028, 3, 16)),
        ),
    ],
)
def test_the_soonest_decides(limits: list[Limit], expected: Due) -> None:
    assert reckon(limits, KNOWN) == expected


def test_what_is_unknown_comes_before_any_day() -> None:
    limits = [Limit(months=12, anchor="manufacture"), Limit(months=60)]
    assert reckon(limits, History(made=DONE)) == Due(unknown=True, which=1)


@dataclass(frozen=True)
class Gear:
    kind: str = "cylinder"
    model_id: int = 1
    specification: str = ""
    material: str = ""
    use: str = ""
    oxygen: int | None = None


@dataclass(frozen=True)
class Row:
    kind: str = "cylinder"
    model_id: int | None = None
    specification: str = ""
    material: str = ""
    use: str = ""
    oxygen_above: int | None = None


ALLOY = Row(material=Material.ALUMINIUM_6351)


@pytest.mark.parametrize(
    ("row", "gear", "holds"),
    [
        (Row(), Gear(), True),
        (Row(kind=""), Gear(kind="bcd"), True),
        (Row(), Gear(kind="bcd"), False),
        (Row(model_id=2), Gear(), False),
        (Row(model_id=1), Gear(), True),
        (Row(specification="3A 3AA"), Gear(specification="DOT-3AA"), True),
        (Row(specification="3A 3AA"), Gear(specification="3AL"), False),
        # What is not on record counts as if the rule held: the shorter period is the safer one.
        (Row(specification="3AL"), Gear(), True),
        (ALLOY, Gear(), True),
        (ALLOY, Gear(material=Material.ALUMINIUM), True),
        (ALLOY, Gear(material=Material.ALUMINIUM_6351), True),
        (ALLOY, Gear(material=Material.OTHER_ALUMINIUM), False),
        (ALLOY, Gear(material=Material.STEEL), False),
        (Row(use=Use.SURFACE), Gear(), False),
        (Row(use=Use.SCUBA), Gear(), True),
        (Row(use=Use.HEAVY), Gear(use=Use.HEAVY), True),
        (Row(oxygen_above=235), Gear(), False),
        (Row(oxygen_above=235), Gear(oxygen=235), False),
        (Row(oxygen_above=235), Gear(oxygen=236), True),
    ],
)
def test_it_holds_for_gear(row: Row, gear: Gear, holds: bool) -> None:
    assert applies(row, gear) is holds


def test_it_says_why() -> None:
    assert why(ALLOY, Gear()) == "for every cylinder, its material is not known for sure, so it counts"
    row = Row(specification="3AL", use=Use.HEAVY, oxygen_above=235)
    said = why(row, Gear(specification="3AL"))
    assert (
        said
        == "for every cylinder, of specification 3AL, used for heavy use, used with more than 23.5 % oxygen"
    )


def test_specifications_are_compared_without_their_prefix() -> None:
    assert {plain(each) for each in ("DOT-3AL", "dot 3al", "TC-3AL", "3AL")} == {"3AL"}


@pytest.mark.parametrize(
    ("place", "kind", "clock", "most"),
    [
        ("USA", "cylinder", "pressure_test", 60),
        ("France", "cylinder", "pressure_test", 72),
        ("USA", "hose", "proof", None),
    ],
)
def test_no_long_period_for_a_cylinder(place: str, kind: str, clock: str, most: int | None) -> None:
    assert longest(place, kind, clock) == most
