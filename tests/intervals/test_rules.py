"""For which gear a rule holds, by tables."""

from dataclasses import dataclass

import pytest

from shop.intervals.rules import Material, Use, applies, longest, plain, why


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
