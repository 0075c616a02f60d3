"""Verdicts: the two rules, their edges, and the sentences a person reads."""

from decimal import Decimal

import pytest

from jobs.bench.methods.verdicts import Decision, Limit, Rule, Verdict, decide, overall, plain

BAND = Limit("lock-up", "bar", Decimal("9.0"), Decimal("10.0"))
MOST = Limit("creep", "bar_min", high=Decimal("0.05"))
LESS = Limit("creep", "bar_min", high=Decimal("0.05"), high_inclusive=False)
LEAST = Limit("flow", "l_min", low=Decimal(400))
MORE = Limit("flow", "l_min", low=Decimal(400), low_inclusive=False)
SIMPLE = Limit("lock-up", "bar", Decimal("9.0"), Decimal("10.0"), decision=Rule.SIMPLE)
SIMPLE_LESS = Limit("creep", "bar_min", high=Decimal("0.05"), high_inclusive=False, decision=Rule.SIMPLE)


def test_it_works() -> None:
    decision = decide(Decimal("9.52"), Decimal("9.51"), Decimal("9.53"), BAND)
    assert decision.verdict == "within"
    assert (
        decision.sentence
        == "Lock-up 9.52 bar, 95 % interval 9.51 to 9.53 bar, is within: limit 9.0 to 10.0 bar."
    )


@pytest.mark.parametrize(
    ("limit", "low", "value", "high", "verdict"),
    [
        (BAND, "9.0", "9.5", "10.0", "within"),
        (BAND, "8.9", "9.5", "9.6", "inconclusive"),
        (BAND, "9.9", "10.0", "10.1", "inconclusive"),
        (BAND, "8.0", "9.5", "11.0", "inconclusive"),
        (BAND, "10.1", "10.2", "10.3", "outside"),
        (BAND, "10.0", "10.2", "10.3", "inconclusive"),
        (BAND, "8.0", "8.5", "8.9", "outside"),
        (BAND, "8.0", "8.5", "9.0", "inconclusive"),
        (MOST, "0.03", "0.04", "0.05", "within"),
        (MOST, "0.05", "0.06", "0.07", "inconclusive"),
        (MOST, "0.051", "0.06", "0.07", "outside"),
        (MOST, "-9", "0", "0.01", "within"),
        (LESS, "0.03", "0.04", "0.05", "inconclusive"),
        (LESS, "0.05", "0.06", "0.07", "outside"),
        (LEAST, "400", "410", "420", "within"),
        (LEAST, "390", "395", "400", "inconclusive"),
        (MORE, "400", "410", "420", "inconclusive"),
        (MORE, "390", "395", "400", "outside"),
        (SIMPLE, "8.0", "9.0", "11.0", "within"),
        (SIMPLE, "8.0", "10.0", "11.0", "within"),
        (SIMPLE, "8.0", "8.99", "11.0", "outside"),
        (SIMPLE_LESS, "0.04", "0.05", "0.06", "outside"),
    ],
)
def test_it_decides(limit: Limit, low: str, value: str, high: str, verdict: str) -> None:
    assert decide(Decimal(value), Decimal(low), Decimal(high), limit).verdict == verdict


def test_it_never_passes_an_interval_only_because_it_contains_zero() -> None:
    assert decide(Decimal("0"), Decimal("-0.1"), Decimal("0.1"), MOST).verdict is Verdict.INCONCLUSIVE


@pytest.mark.parametrize(
    ("limit", "sentence"),
    [
        (
            MOST,
            "Creep 0.05 bar/min is inconclusive: its 95 % interval 0.04 to 0.06 bar/min straddles the limit at most 0.05 bar/min.",
        ),
        (
            SIMPLE_LESS,
            "Creep 0.05 bar/min is outside: limit less than 0.05 bar/min, judged by the value alone.",
        ),
    ],
)
def test_it_says_which_rule_decided(limit: Limit, sentence: str) -> None:
    assert decide(Decimal("0.05"), Decimal("0.04"), Decimal("0.06"), limit).sentence == sentence


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (BAND, "9.0 to 10.0 bar"),
        (MORE, "more than 400 L/min"),
        (LEAST, "at least 400 L/min"),
        (Limit("x", "bar", Decimal(1), Decimal(2), low_inclusive=False), "more than 1 and at most 2 bar"),
    ],
)
def test_it_prints_a_limit_with_its_operator_and_unit(limit: Limit, words: str) -> None:
    assert str(limit) == words


def test_it_converts_a_limit_and_keeps_the_printed_words() -> None:
    limit = Limit("lock-up", "psi", Decimal(125), Decimal(150)).to("bar")
    assert str(limit) == "8.61845 to 10.3421 bar (printed as 125 to 150 psi)"
    assert limit.low == Decimal("8.618446616460451670903341807")
    assert str(limit.to("mbar")) == "8618.45 to 10342.1 mbar (printed as 125 to 150 psi)"


@pytest.mark.parametrize(
    ("low", "high", "message"),
    [
        (None, None, "The limit for creep has neither a low nor a high side."),
        (Decimal(2), Decimal(1), "The limit for creep has its low side 2 above its high 1."),
        (Decimal("NaN"), None, "The limit for creep is not a finite number."),
        (None, Decimal("Infinity"), "The limit for creep is not a finite number."),
    ],
)
def test_it_refuses_a_limit_that_cannot_be_meant(
    low: Decimal | None, high: Decimal | None, message: str
) -> None:
    with pytest.raises(ValueError, match=f"^{message}$"):
        Limit("creep", "bar_min", low, high)


@pytest.mark.parametrize(
    ("value", "low", "high"), [("1", "2", "3"), ("3", "1", "2"), ("NaN", "1", "2"), ("1", "-Infinity", "2")]
)
def test_it_refuses_an_interval_without_its_value(value: str, low: str, high: str) -> None:
    with pytest.raises(ValueError, match="does not hold the value"):
        decide(Decimal(value), Decimal(low), Decimal(high), MOST)


@pytest.mark.parametrize(
    ("verdicts", "expected"),
    [
        (["within", "within"], "within"),
        (["within", "inconclusive"], "inconclusive"),
        (["inconclusive", "outside", "within"], "outside"),
        ([], "inconclusive"),
    ],
)
def test_it_joins_verdicts_by_the_worst(verdicts: list[str], expected: str) -> None:
    assert overall([Decision(Verdict(verdict), "") for verdict in verdicts]) == expected


@pytest.mark.parametrize(
    ("number", "text"),
    [
        ("9.50", "9.50"),
        ("1E+2", "100"),
        ("0.0000001", "0.0000001"),
        ("7.4726673000001", "7.47267"),
        ("1.2345678", "1.2345678"),
        ("1.23456789", "1.23457"),
    ],
)
def test_it_prints_numbers_without_exponents(number: str, text: str) -> None:
    assert plain(Decimal(number)) == text


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        ("-2", "2", "at most 2 bar either way"),
        ("-2", "1", "-2 to 1 bar"),
        ("-1", "2", "-1 to 2 bar"),
        ("9", "9", "9 to 9 bar"),
    ],
)
def test_it_says_either_way_only_of_two_equal_sides(low: str, high: str, words: str) -> None:
    assert str(Limit("lock-up", "bar", Decimal(low), Decimal(high))) == words
