"""An analysis of air: which limits hold, what odour means, what may be left out."""

import json
from decimal import Decimal

import pytest

from jobs.bench.methods import METHODS
from jobs.bench.methods.air_analysis import judge
from jobs.bench.methods.air_tables import CYLINDER, OUTLET, TABLES, AirRow
from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.records import limit_from, to_record
from jobs.bench.methods.verdicts import Limit, Rule, Verdict

EN, GRADE_D, GRADE_E, NORWAY, DIVING, COAST = TABLES
SHEET = {
    "table": EN, "where": "compressor outlet", "oxygen": "20.9", "co": "1", "co2": "0.042 %", "oil": "0.1", "water": "18",
    "odour": "no odour",
}  # fmt: skip


def of_plan(quantity: str, unit: str, high: str) -> Limit:
    return Limit(quantity, unit, high=Decimal(high), decision=Rule.SIMPLE, source="the workshop's own")


def test_it_works() -> None:
    found = judge(SHEET)

    assert found.verdict == Verdict.WITHIN
    assert found.values["carbon dioxide"].value == 420
    assert {each.quantity: each.edition for each in found.limits} == dict.fromkeys(
        ("oxygen", "carbon monoxide", "carbon dioxide", "oil", "water"), "2014"
    )
    assert found.warnings == ("Without a limit here, in EN 12021, 2014 and in the plan: hydrocarbons, dew point.",)  # fmt: skip


@pytest.mark.parametrize("key", ["oxygen", "co", "co2", "oil", "water", "odour"])
def test_it_tells_nothing_where_a_figure_is_missing(key: str) -> None:
    """Nothing that the table asks for may be left out and passed over."""
    found = judge({name: text for name, text in SHEET.items() if name != key})
    assert found.verdict == Verdict.INCONCLUSIVE


@pytest.mark.parametrize(
    ("table", "odour", "verdict"),
    [
        (EN, "slight", Verdict.INCONCLUSIVE),
        (EN, "marked", Verdict.OUTSIDE),
        (GRADE_D, "slight", Verdict.OUTSIDE),
        (GRADE_E, "slight", Verdict.WITHIN),
        (GRADE_E, "marked", Verdict.OUTSIDE),
        (NORWAY, "slight", Verdict.OUTSIDE),
        (DIVING, "slight", Verdict.INCONCLUSIVE),
        (COAST, "marked", Verdict.WITHIN),
    ],
)
def test_it_reads_an_odour_by_the_words_of_the_table(table: str, odour: str, verdict: Verdict) -> None:
    """46 CFR 197.340(i), as read, asks nothing of it: it is told, and not judged."""
    found = judge(SHEET | {"table": table, "odour": odour, "hydrocarbons": "3"})
    assert found.verdict == verdict
    told = any(each.startswith("Odour") for each in found.warnings)
    assert told is (verdict is not Verdict.WITHIN)


@pytest.mark.parametrize(
    ("odour", "for_a_person"), [("slight", True), ("marked", False), ("no odour", False)]
)
def test_it_leaves_to_a_person_what_words_leave_open(odour: str, for_a_person: bool) -> None:
    said = judge(SHEET | {"odour": odour}).decisions["odour"].sentence
    assert said.endswith("no significant odour. Whether it is that is for a person to judge.") is for_a_person
    assert said.startswith(f"Odour, {odour}, is ")


def test_it_takes_the_limit_of_the_plan_before_that_of_the_table() -> None:
    own = [of_plan("carbon monoxide", "ppm", "0.5"), of_plan("hydrocarbons", "ppm", "10")]
    found = judge(SHEET | {"hydrocarbons": "3"}, own)

    assert found.verdict == Verdict.OUTSIDE
    assert found.decisions["hydrocarbons"].verdict == Verdict.WITHIN
    assert "The plan's own limit stands in place of the table's: carbon monoxide." in found.warnings
    assert not any("hydrocarbons, dew" in each for each in found.warnings)


def test_it_computes_a_stored_analysis_again_by_its_own_rows() -> None:
    own = [of_plan("carbon monoxide", "ppm", "4"), of_plan("hydrocarbons", "ppm", "10")]
    stored = json.loads(json.dumps(to_record(judge(SHEET | {"hydrocarbons": "3"}, own))))
    limits = [limit_from(each) for each in stored["limits"]]

    again = to_record(METHODS["air analysis"].judge(stored["typed"], limits, None))

    assert again["limits"] == stored["limits"]
    assert {name: again[name] for name in ("verdict", "decisions", "values")} == {
        name: stored[name] for name in ("verdict", "decisions", "values")
    }
    assert again == stored


@pytest.mark.parametrize(
    ("typed", "keys"),
    [
        ({"where": "cylinder"}, ["pressure"]),
        ({"where": "cylinder", "table": NORWAY}, ["pressure"]),
        ({"table": "EN 12021"}, ["table"]),
        ({"oxygen": "101", "co": "-1"}, ["oxygen", "co"]),
        ({"co": "<0.5"}, ["co"]),
        ({"water": "20 ppm"}, ["water"]),
        ({"helium": "1"}, ["helium"]),
    ],
)
def test_it_refuses_what_cannot_be_meant(typed: dict[str, str], keys: list[str]) -> None:
    with pytest.raises(BadFigures) as refused:
        judge(json.loads(json.dumps(SHEET | typed)))
    assert [key for key, _ in refused.value.reasons] == keys


def test_it_asks_for_no_pressure_where_no_limit_hangs_on_it() -> None:
    found = judge(SHEET | {"table": COAST, "where": "cylinder"})
    assert found.verdict == Verdict.WITHIN


@pytest.mark.parametrize(
    ("where", "bar", "holds"),
    [
        (OUTLET, None, False),
        (OUTLET, "100", False),
        (CYLINDER, None, False),
        (CYLINDER, "39.9", False),
        (CYLINDER, "40", True),
        (CYLINDER, "200", True),
        (CYLINDER, "200.1", False),
    ],
)
def test_a_row_holds_where_it_says_both_pressures_included(where: str, bar: str | None, holds: bool) -> None:
    row = AirRow("water", high="50", where=CYLINDER, from_bar=Decimal(40), to_bar=Decimal(200))

    assert row.applies(where, None if bar is None else Decimal(bar)) is holds


def test_a_row_for_the_outlet_holds_for_no_cylinder() -> None:
    assert AirRow("water", high="25", where=OUTLET).applies(OUTLET, Decimal(100))
    assert not AirRow("water", high="25", where=OUTLET).applies(CYLINDER, None)


@pytest.mark.parametrize(
    ("table", "where", "bar", "most"),
    [
        (EN, OUTLET, "300", "25"),
        (EN, CYLINDER, "40", "50"),
        (EN, CYLINDER, "200", "50"),
        (EN, CYLINDER, "200.5", "35"),
        (NORWAY, CYLINDER, "200", "50"),
        (NORWAY, CYLINDER, "200.5", "30"),
    ],
)
def test_the_limit_on_water_is_that_of_place_and_pressure(
    table: str, where: str, bar: str, most: str
) -> None:
    assert TABLES[table].limits(where, Decimal(bar))["water"].high == Decimal(most)


def test_a_row_open_to_one_side_holds_on_it() -> None:
    assert AirRow("water", from_bar=Decimal(40)).applies(OUTLET, Decimal(300))
    assert AirRow("water", to_bar=Decimal(40)).applies(OUTLET, Decimal(40))


def test_a_row_with_a_pressure_holds_for_nothing_without_one() -> None:
    assert not AirRow("water", from_bar=Decimal(40)).applies(CYLINDER, None)
    assert not AirRow("water", to_bar=Decimal(40)).applies(CYLINDER, None)


@pytest.mark.parametrize(
    ("key", "low", "high"),
    [
        ("oxygen", 0, 100),
        *((key, 0, 1_000_000) for key in ("co", "co2", "oil", "hydrocarbons", "water")),
        ("dew_point", -110, 60),
        ("pressure", 1, 500),
    ],
)
def test_it_takes_figures_up_to_their_bounds(key: str, low: int, high: int) -> None:
    for figure in (low, high):
        judge(SHEET | {key: f"{figure}"})
    for figure in (low - 1, high + 1):
        with pytest.raises(BadFigures, match=f" is to be {low} to {high}"):
            judge(SHEET | {key: f"{figure}"})


def test_nothing_is_said_of_limits_where_each_quantity_has_one() -> None:
    own = [of_plan("hydrocarbons", "ppm", "10"), of_plan("dew point", "degC", "-10")]

    found = judge(SHEET | {"hydrocarbons": "3", "dew_point": "-50"}, own)

    assert found.warnings == ()
