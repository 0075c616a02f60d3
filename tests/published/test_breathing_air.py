"""Published limits on breathing air.

Sources: EN 12021:2014, four pages that agree (read second-hand): O2 21 +/- 1 %, CO 5 ppm, CO2 500 ppm, oil 0.5 mg/m3, water
25 mg/m3 at the outlet for filling, 50 in a cylinder of 40 to 200 bar, 35 above; 29 CFR 1910.134(i) with CGA G-7.1 grade D
(read): O2 19.5 to 23.5 %, CO 10, CO2 1000, oil 5, dew point -50 F; grade E (tables of 1989 and 2011, read second-hand): O2 20
to 22 %, CO 10, CO2 1000, oil 5, hydrocarbons 25; Norway, filling plants, section 5-5 (read): CO 10, CO2 500, oil 1, water 50
at 200 bar and 30 at 300; 29 CFR 1910.430 (read): CO 20, CO2 1000, oil mist 5; 46 CFR 197.340(i) (read second-hand): O2 20 to
22 %, CO 20, CO2 1000.
"""

from decimal import Decimal

import pytest

from jobs.bench.methods.air_analysis import judge
from jobs.bench.methods.air_tables import TABLES
from jobs.bench.methods.verdicts import Verdict

EN, GRADE_D, GRADE_E, NORWAY, DIVING, COAST = TABLES
GOOD = {"where": "compressor outlet", "oxygen": "20.9", "odour": "no odour"}
SHEET = GOOD | {"co": "1", "co2": "420", "oil": "0.1", "water": "18", "dew_point": "-50", "hydrocarbons": "3"}
FILLED = SHEET | {"where": "cylinder"}


@pytest.mark.parametrize(
    ("table", "key", "kept", "broken"),
    [
        (EN, "co", "5", "5.1"),
        (EN, "co2", "500", "501"),
        (EN, "oil", "0.5", "0.51"),
        (EN, "water", "25", "25.1"),
        (EN, "oxygen", "20", "19.9"),
        (EN, "oxygen", "22", "22.1"),
        (GRADE_D, "oxygen", "19.5", "19.4"),
        (GRADE_D, "oxygen", "23.5", "23.6"),
        (GRADE_D, "co", "10", "10.1"),
        (GRADE_D, "co2", "1000", "1001"),
        (GRADE_D, "oil", "5", "5.1"),
        (GRADE_E, "hydrocarbons", "25", "25.1"),
        (GRADE_E, "oxygen", "22", "22.1"),
        (NORWAY, "co", "10", "10.1"),
        (NORWAY, "oil", "1", "1.1"),
        (NORWAY, "co2", "500", "501"),
        (DIVING, "co", "20", "20.1"),
        (DIVING, "oil", "5", "5.1"),
        (COAST, "co2", "1000", "1001"),
        (COAST, "oxygen", "20", "19.9"),
    ],
)
def test_it_works(table: str, key: str, kept: str, broken: str) -> None:
    """What is exactly at a limit does not exceed it."""
    assert judge(SHEET | {"table": table, key: kept}).verdict == Verdict.WITHIN
    assert judge(SHEET | {"table": table, key: broken}).verdict == Verdict.OUTSIDE


@pytest.mark.parametrize(
    ("table", "water", "bar", "verdict"),
    [
        (EN, "45", "200", Verdict.WITHIN),
        (EN, "45", "232", Verdict.OUTSIDE),
        (EN, "35", "232", Verdict.WITHIN),
        (EN, "50", "40", Verdict.WITHIN),
        (EN, "51", "200", Verdict.OUTSIDE),
        (NORWAY, "50", "200", Verdict.WITHIN),
        (NORWAY, "31", "300", Verdict.OUTSIDE),
    ],
)
def test_it_limits_the_water_of_a_cylinder_by_its_pressure(
    table: str, water: str, bar: str, verdict: Verdict
) -> None:
    assert judge(FILLED | {"table": table, "water": water, "pressure": bar}).verdict == verdict


@pytest.mark.parametrize(("dew", "verdict"), [("-45.6", Verdict.WITHIN), ("-45.5", Verdict.OUTSIDE)])
def test_it_limits_the_dew_point_of_a_cylinder(dew: str, verdict: Verdict) -> None:
    assert judge(FILLED | {"table": GRADE_D, "dew_point": dew}).verdict == verdict


def test_it_has_no_row_that_was_not_found() -> None:
    """Grade E's water, the oxygen of Norway and of 1910.430, and water below 40 bar were not found in print."""
    limited = {name: set(table.limits("cylinder", Decimal(232))) for name, table in TABLES.items()}
    assert "water" not in limited[GRADE_E] | limited[DIVING] | limited[COAST]
    assert "oxygen" not in limited[NORWAY] | limited[DIVING]
    assert "water" not in TABLES[EN].limits("cylinder", Decimal(39))
