"""For which gas gear is used, and which parts are fit for it."""

import pytest

from shop.gases.rules import (
    PUBLISHED,
    STATEMENTS,
    STRICT,
    Gas,
    Use,
    fit,
    percent,
    plan_refusals,
    stated,
    statement_refusals,
    unfit_refusals,
    use_of,
)


@pytest.mark.parametrize(
    ("share", "oxygen_plan", "threshold", "gas", "rule"),
    [
        # The mixes are row O1 of the collected check values: 23.5 %, 23.6 %, 40 % and 40.1 % (PHMSA letters, 46 CFR 197).
        (235, False, 235, "air", "used with 23.5 % oxygen, not above the threshold of 23.5 %"),
        (236, False, 235, "enriched air", "used with 23.6 % oxygen, above the threshold of 23.5 %"),
        (400, False, 235, "enriched air", "used with 40 % oxygen, above the threshold of 23.5 %"),
        (401, False, 235, "oxygen", "used with 40.1 % oxygen, above 40 %"),
        (1000, True, 400, "oxygen", "used with 100 % oxygen, above 40 %"),
        (320, True, 235, "enriched air", "used with 32 % oxygen, above the threshold of 23.5 %"),
        (320, False, 400, "air", "used with 32 % oxygen, not above the threshold of 40 %"),
        (225, False, 220, "enriched air", "used with 22.5 % oxygen, above the threshold of 22 %"),
        (210, True, 235, "oxygen", "the plan is for oxygen-clean gear; enriched is above the threshold of 23.5 %"),
        (None, True, 235, "oxygen", "the plan is for oxygen-clean gear; enriched is above the threshold of 23.5 %"),
        (0, False, 235, "air", "used with 0 % oxygen, not above the threshold of 23.5 %"),
        (
            None, False, 235, "air",
            "neither item nor plan states more oxygen; enriched is above the threshold of 23.5 %",
        ),
    ],
)  # fmt: skip
def test_it_works(share: int | None, oxygen_plan: bool, threshold: int, gas: str, rule: str) -> None:
    assert use_of(share, oxygen_plan=oxygen_plan, threshold=threshold) == Use(Gas(gas), rule)


@pytest.mark.parametrize(
    ("fit_for", "fits"),
    [
        ("", [True, False, False]),
        ("air", [True, False, False]),
        ("air, enriched air", [True, True, False]),
        ("oxygen", [False, False, True]),
        ("enriched air", [False, True, False]),
        ("air, enriched air, oxygen", [True, True, True]),
    ],
)
def test_only_what_is_stated_counts_and_nothing_stated_is_air(fit_for: str, fits: list[bool]) -> None:
    assert [fit(fit_for, gas) for gas in Gas] == fits
    found = [unfit_refusals("TH-1", fit_for, Use(gas, "a rule")) for gas in Gas]
    assert [not each for each in found] == fits


def test_it_says_what_is_stated_and_by_which_rule_the_gas_was_found() -> None:
    use = Use(Gas.OXYGEN, "used with 100 % oxygen, above 40 %")

    assert [each.sentence for fit_for in ("", "air") for each in unfit_refusals("TH-1", fit_for, use)] == [
        "Part TH-1 is not fit for oxygen (used with 100 % oxygen, above 40 %). "
        "Not stated for which gas it is fit, so for air only.",
        "Part TH-1 is not fit for oxygen (used with 100 % oxygen, above 40 %). Fit for air.",
    ]


def test_a_statement_is_kept_in_one_order_and_the_database_knows_each() -> None:
    assert stated({"oxygen", "air"}) == stated(["air", "oxygen", "air"]) == "air, oxygen"
    assert stated([]) == ""
    assert len(STATEMENTS) == len(set(STATEMENTS)) == 8


@pytest.mark.parametrize(
    ("gas", "oxygen_plan", "codes"),
    [
        ("air", False, []),
        ("air", True, []),
        ("enriched air", True, []),
        ("enriched air", False, ["plan-unfit"]),
        ("oxygen", False, ["plan-unfit"]),
    ],
)
def test_more_oxygen_takes_a_plan_for_it(gas: str, oxygen_plan: bool, codes: list[str]) -> None:
    found = plan_refusals(Use(Gas(gas), "a rule"), oxygen_plan=oxygen_plan)

    assert [each.code for each in found] == codes


@pytest.mark.parametrize(
    ("fit_for", "source", "pointers"),
    [("", "", []), ("air", "a sheet", []), ("air", "", ["fit_source"]), ("", "a sheet", ["fit_for"])],
)
def test_a_statement_stands_with_its_source(fit_for: str, source: str, pointers: list[str]) -> None:
    assert [each.pointer for each in statement_refusals(fit_for, source)] == pointers


def test_the_default_is_the_strictest_figure_that_was_read() -> None:
    """23.5 %: PHMSA letters 06-0064, 11-0175 and 11-0238, read; 22 % of EN 144-3 is from memory."""
    assert min(each.share for each in PUBLISHED if each.status == "read") == STRICT == 235
    assert [percent(share) for share in (235, 400, 1000, 0)] == ["23.5 %", "40 %", "100 %", "0 %"]
