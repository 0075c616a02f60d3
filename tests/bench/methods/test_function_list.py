"""A list of functions: pass, fail, not fitted or not tried, and figures beside some of them."""

from decimal import Decimal

import pytest

from jobs.bench.methods.asked import BadFigures
from jobs.bench.methods.function_list import asks, bound, judge
from jobs.bench.methods.records import to_record
from jobs.bench.methods.verdicts import Instrument, Limit, Rule
from shop.catalogue.rules import Function

INFLATES, EXHAUSTS = Function("inflates", "It inflates"), Function("exhausts", "It exhausts")
OPENS = Function("opens", "The valve opens", "mbar")
PROOF = Limit("opens", "bar", Decimal("0.1"), Decimal("0.2"), decision=Rule.SIMPLE, source="the test's own")
GAUGE = Instrument(Decimal(1), Decimal(300))


def test_it_works() -> None:
    result = judge(
        [INFLATES, EXHAUSTS, OPENS],
        {"inflates": "pass", "exhausts": "not fitted", "opens": "pass", "opens_figure": "0.15 bar"},
        [PROOF],
        {"opens": GAUGE},
    )

    assert result.verdict == "within"
    assert result.warnings == ("It exhausts: not fitted.",)
    assert list(result.decisions) == ["inflates", "opens"]
    value = result.values["opens"]
    assert (value.value, value.unit) == (Decimal(150), "mbar")
    # A step of 1 mbar, k = 2: 2 / sqrt(12) = 0.577, rounded up to two digits.
    assert (value.low, value.high) == (Decimal("149.42"), Decimal("150.58"))
    assert result.decisions["inflates"].sentence == "It inflates: passed."
    assert "limit 100 to 200 mbar" in result.decisions["opens"].sentence
    assert to_record(result)["functions"][2]["unit"] == "mbar"


@pytest.mark.parametrize(
    ("given", "verdict", "sentence"),
    [
        ({}, "inconclusive", "The valve opens: not tried."),
        ({"opens": "fail"}, "outside", "The valve opens: failed."),
        ({"opens": "fail", "opens_figure": "150"}, "outside", "The valve opens: failed."),
        ({"opens": "pass"}, "inconclusive", "The valve opens: passed, but nothing was read."),
        ({"opens_figure": "150"}, "inconclusive", "The valve opens: not tried."),
        (
            {"opens": "pass", "opens_figure": "150"},
            "within",
            "The valve opens: passed. Opens 150 mbar is within",
        ),
        ({"opens": "pass", "opens_figure": "200"}, "within", "The valve opens: passed."),
        (
            {"opens": "pass", "opens_figure": "201"},
            "outside",
            "The valve opens: passed. Opens 201 mbar is outside",
        ),
    ],
)
def test_it_judges_one_function(given: dict[str, str], verdict: str, sentence: str) -> None:
    result = judge([OPENS], given, [PROOF])

    assert (result.verdict, result.decisions["opens"].verdict) == (verdict, verdict)
    assert result.decisions["opens"].sentence.startswith(sentence)


@pytest.mark.parametrize(
    ("first", "second", "verdict"),
    [
        ("pass", "pass", "within"),
        ("pass", "fail", "outside"),
        ("", "fail", "outside"),
        ("", "pass", "inconclusive"),
        ("not fitted", "pass", "within"),
        ("not fitted", "not fitted", "inconclusive"),
    ],
)
def test_it_judges_the_whole_list(first: str, second: str, verdict: str) -> None:
    given = {key: text for key, text in (("inflates", first), ("exhausts", second)) if text}

    assert judge([INFLATES, EXHAUSTS], given).verdict == verdict


def test_it_keeps_a_figure_without_a_limit() -> None:
    result = judge([OPENS], {"opens": "pass", "opens_figure": "150"})

    assert result.verdict == "within"
    assert result.decisions["opens"].sentence == (
        "The valve opens: passed; 150 mbar was read, for which the plan has no limit."
    )
    assert (result.values["opens"].low, result.values["opens"].high) == (None, None)


def test_it_needs_an_uncertainty_for_a_guarded_limit() -> None:
    limit = Limit("opens", "mbar", Decimal(100), Decimal(200))
    given = {"opens": "pass", "opens_figure": "199.8"}

    assert judge([OPENS], given, [limit]).verdict == "inconclusive"
    assert judge([OPENS], given, [limit], {"opens": GAUGE}).verdict == "inconclusive"
    assert judge([OPENS], given | {"opens_figure": "199"}, [limit], {"opens": GAUGE}).verdict == "within"


def test_it_is_called_like_every_other_judge_once_it_is_bound() -> None:
    given = {"opens": "pass", "opens_figure": "150"}
    theirs = Instrument(Decimal(50))

    found = bound([OPENS], {"opens": GAUGE})(given, [PROOF], theirs)

    assert to_record(found) == to_record(judge([OPENS], given, [PROOF], {"opens": GAUGE}))


def test_it_lets_nothing_rest_on_the_end_of_a_range() -> None:
    given = {"opens": "pass", "opens_figure": "150"}

    found = judge([OPENS], given, [PROOF], {"opens": Instrument(Decimal(1), Decimal(150))})

    assert found.verdict == "inconclusive"


@pytest.mark.parametrize(
    ("given", "key"),
    [
        ({"opens": "not fitted", "opens_figure": "150"}, "opens_figure"),
        ({"opens": "well"}, "opens"),
        ({"opens": "pass", "opens_figure": "much"}, "opens_figure"),
        ({"closes": "pass"}, "closes"),
    ],
)
def test_it_refuses_what_cannot_be_meant(given: dict[str, str], key: str) -> None:
    with pytest.raises(BadFigures) as caught:
        judge([OPENS], given)

    assert [each for each, _ in caught.value.reasons] == [key]


def test_it_refuses_a_limit_of_no_figure() -> None:
    with pytest.raises(ValueError, match="inflates"):
        judge([INFLATES], {}, [Limit("inflates", "mbar", Decimal(1))])


def test_it_asks_for_a_figure_only_where_one_is_read() -> None:
    assert [ask.key for ask in asks([INFLATES, OPENS])] == ["inflates", "opens", "opens_figure"]
    assert {ask.optional for ask in asks([INFLATES, OPENS])} == {True}
