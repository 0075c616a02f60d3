from decimal import Decimal
from math import pi

import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.bubbles import BUBBLE_FLOW, BUBBLE_RATE, COMPUTATION
from jobs.bench.methods.verdicts import Limit, Rule, Verdict
from jobs.bench.methods.worked import Result, judge

COUNTED = {"bubbles": "7", "seconds": "90"}


def count(**more: str) -> Result:
    return judge(COMPUTATION, COUNTED | more)


def test_it_works() -> None:
    limit = Limit(BUBBLE_RATE, "per_min", high=Decimal(5), decision=Rule.SIMPLE)
    result = judge(COMPUTATION, COUNTED, [limit])
    assert round(result.values[BUBBLE_RATE].value, 6) == Decimal("4.666667")
    assert result.values[BUBBLE_RATE].low is None
    assert result.verdict == Verdict.WITHIN
    assert COMPUTATION.quantities == {"bubble rate": "per_min", "bubble flow": "ml_min"}


def test_it_knows_no_volume_without_the_size_of_a_bubble() -> None:
    result = count()
    assert list(result.values) == [BUBBLE_RATE]
    assert result.warnings == ("The size of a bubble was not given, so no volume of gas is known.",)


def test_it_gives_millilitres_from_the_volume_of_a_bubble() -> None:
    result = count(bubble_volume="0.03", seconds="1 min")
    assert result.values[BUBBLE_FLOW].value == Decimal("0.21")
    assert (result.values[BUBBLE_FLOW].unit, result.warnings) == ("ml_min", ())


def test_it_gives_millilitres_from_the_diameter_of_a_bubble() -> None:
    found = count(diameter="4", seconds="60").values[BUBBLE_FLOW].value
    assert float(found) == pytest.approx(7 * pi * 0.4**3 / 6, rel=1e-14)


def test_it_says_that_no_bubble_is_not_no_leak() -> None:
    result = count(bubbles="0", diameter="4")
    assert {value.value for value in result.values.values()} == {Decimal(0)}
    assert result.warnings == ("No bubble in 90 s: a slower leak would not have shown.",)


def test_it_holds_no_count_against_a_guarded_limit() -> None:
    limit = Limit(BUBBLE_RATE, "per_min", high=Decimal(500))
    assert judge(COMPUTATION, COUNTED, [limit]).verdict == Verdict.INCONCLUSIVE


@pytest.mark.parametrize(
    ("more", "key", "said"),
    [
        ({"bubbles": ""}, "bubbles", "Bubbles counted is missing."),
        ({"seconds": ""}, "seconds", "Counted for is missing."),
        ({"bubbles": "-1"}, "bubbles", "Bubbles counted is to be 0 to 100000."),
        ({"bubbles": "100001"}, "bubbles", "Bubbles counted is to be 0 to 100000."),
        ({"bubbles": "3.5"}, "bubbles", "Bubbles counted is to be a whole number."),
        ({"seconds": "0"}, "seconds", "Counted for is to be 1 to 86400 s."),
        ({"seconds": "-60"}, "seconds", "Counted for is to be 1 to 86400 s."),
        ({"seconds": "86401"}, "seconds", "Counted for is to be 1 to 86400 s."),
        ({"diameter": "0"}, "diameter", "Diameter of one bubble is to be 0.01 to 100 mm."),
        ({"diameter": "1 m"}, "diameter", "Diameter of one bubble is to be 0.01 to 100 mm."),
        ({"bubble_volume": "0"}, "bubble_volume", "Volume of one bubble is to be 0.000001 to 1000 mL."),
        ({"bubble_volume": "2 L"}, "bubble_volume", "Volume of one bubble is to be 0.000001 to 1000 mL."),
        ({"diameter": "4", "bubble_volume": "0.1"}, "bubble_volume", "Give the diameter or the volume of a bubble, not both."),
    ],
)  # fmt: skip
def test_it_refuses_what_cannot_be_meant(more: dict[str, str], key: str, said: str) -> None:
    with pytest.raises(BadFigures) as caught:
        count(**more)
    assert caught.value.reasons == ((key, said),)
