"""Storage lives by published rules, against their tables as read on secondary pages.

ISO 2230:2002, clause 4: group A (NR, IR, AU) 5 + 2 years, B (NBR, HNBR, CR) 7 + 3, C (EPDM, FKM, VMQ, FVMQ, PTFE, FFKM)
10 + 5 (a seal seller's page). SAE AS5316: polyurethane 5 years; NBR, HNBR, CR, ACM 15; EPDM, FKM, FFKM, VMQ, FVMQ, IIR, PTFE
without limit (three sellers agree). That the days fall where dateutil puts them is checked too.
"""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped]  # it has no type information

from shop.lives.rules import LIFE_RULES, last_good_day, quarter_end


@pytest.mark.parametrize(
    ("key", "material", "years", "more"),
    [
        *(("iso-2230-a", name, 5, 2) for name in ("NR", "IR", "AU")),
        *(("iso-2230-b", name, 7, 3) for name in ("NBR", "HNBR", "CR")),
        *(("iso-2230-c", name, 10, 5) for name in ("EPDM", "FKM", "VMQ", "FVMQ", "PTFE", "FFKM")),
        ("as5316-5", "AU", 5, 0),
        *(("as5316-15", name, 15, 0) for name in ("NBR", "HNBR", "CR", "ACM")),
    ],
)
def test_the_tables_are_as_printed(key: str, material: str, years: int, more: int) -> None:
    rule = LIFE_RULES[key]

    assert material in rule.materials
    assert (rule.months, rule.extension_months) == (12 * years, 12 * more)


@pytest.mark.parametrize("material", ["EPDM", "FKM", "FFKM", "VMQ", "FVMQ", "IIR", "PTFE"])
def test_what_is_without_limit_has_no_last_day(material: str) -> None:
    rule = LIFE_RULES["as5316-unlimited"]

    assert material in rule.materials
    assert last_good_day(quarter_end("2Q24"), rule.months) is None


def test_what_contradicts_itself_in_print_is_not_loaded() -> None:
    assert not [rule.key for rule in LIFE_RULES.values() if "SBR" in rule.materials]


@pytest.mark.parametrize(
    ("key", "day", "extended"),
    [  # NBR of the second quarter of 2024
        ("as5316-15", date(2039, 6, 30), date(2039, 6, 30)),
        ("iso-2230-b", date(2031, 6, 30), date(2034, 6, 30)),
    ],
)
def test_nitrile_of_one_quarter_by_both_rules(key: str, day: date, extended: date) -> None:
    rule, cured = LIFE_RULES[key], quarter_end("2Q24")

    assert cured is not None
    assert rule.months is not None
    assert last_good_day(cured, rule.months) == day == cured + relativedelta(months=rule.months)
    assert last_good_day(cured, rule.months + rule.extension_months) == extended
