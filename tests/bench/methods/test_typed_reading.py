"""One typed reading against one limit."""

from decimal import Decimal

import pytest

from jobs.bench.methods.typed_reading import expanded_uncertainty, judge, standard_uncertainty
from jobs.bench.methods.units import UnitError
from jobs.bench.methods.verdicts import Instrument, Limit, Rule

BAND = Limit("intermediate pressure", "bar", Decimal("9.0"), Decimal("10.0"))
SUCK = Limit("inhalation effort", "inH2O", low=Decimal(-3), high=Decimal(3), decision=Rule.SIMPLE)
GAUGE = Instrument(resolution=Decimal("0.05"))


def test_it_works() -> None:
    result = judge("9.5", "bar", BAND, GAUGE)
    assert result.verdict == "within"
    assert result.value == Decimal("9.5")
    assert result.uncertainty == Decimal("0.029")
    assert result.decisions["intermediate pressure"].sentence == (
        "Intermediate pressure 9.5 bar, 95 % interval 9.471 to 9.529 bar, is within: limit 9.0 to 10.0 bar."
    )


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("9.03", "within"),
        ("9.02", "inconclusive"),
        ("8.98", "inconclusive"),
        ("8.97", "outside"),
        ("10.5", "outside"),
    ],
)
def test_it_guards_the_limit_by_the_instruments_uncertainty(text: str, verdict: str) -> None:
    assert judge(text, "bar", BAND, GAUGE).verdict == verdict


@pytest.mark.parametrize(
    ("text", "verdict"), [("7.47", "within"), ("-7.4726673", "within"), ("-7.48", "outside")]
)
def test_it_judges_in_the_unit_that_was_read(text: str, verdict: str) -> None:
    # 3 inH2O at 15 breaths a minute: California Code of Regulations, Title 8, section 6057(b)(1).
    result = judge(text, "mbar", SUCK)
    assert result.verdict == verdict
    assert result.decisions["inhalation effort"].sentence == (
        f"Inhalation effort {text} mbar is {verdict}: limit at most 7.4726673 mbar either way (printed as at most 3 inH2O either way), "
        "judged by the value alone."
    )


def test_it_needs_an_uncertainty_for_a_guarded_limit() -> None:
    for instrument in (None, Instrument(), Instrument(range_high=Decimal(25))):
        result = judge("9.5", "bar", BAND, instrument)
        assert result.verdict == "inconclusive"
        assert result.decisions["intermediate pressure"].sentence == (
            "No uncertainty is known for the instrument, so its reading cannot be held against a guarded limit. "
            "Limit 9.0 to 10.0 bar."
        )


def test_it_says_when_the_instrument_is_too_coarse() -> None:
    sentence = judge("9.0", "bar", BAND, GAUGE).decisions["intermediate pressure"].sentence
    assert sentence.endswith("straddles the limit 9.0 to 10.0 bar. The instrument is too coarse to tell.")


def test_it_trusts_no_reading_at_the_end_of_the_range() -> None:
    full = Instrument(resolution=Decimal("0.01"), range_high=Decimal("9.9"))
    assert judge("9.8", "bar", BAND, full).verdict == "within"
    assert judge("9.9", "bar", BAND, full).verdict == "inconclusive"
    assert judge("12", "bar", BAND, full).verdict == "outside"


@pytest.mark.parametrize(
    ("instrument", "expected"),
    [
        (Instrument(), None),
        (Instrument(resolution=Decimal("0.1")), "0.058"),
        (Instrument(standard_uncertainty=Decimal("0.03")), "0.06"),
        (Instrument(resolution=Decimal("0.1"), standard_uncertainty=Decimal("0.03")), "0.084"),
    ],
)
def test_it_adds_step_and_calibration_in_squares(instrument: Instrument, expected: str | None) -> None:
    found = expanded_uncertainty(instrument)
    assert found == (None if expected is None else Decimal(expected))


def test_it_spreads_an_accuracy_evenly() -> None:
    # 1.6 % of 25 bar is 0.4 bar to either side; 0.4 / sqrt(3) = 0.23094 (computed).
    assert round(standard_uncertainty(Decimal(25), Decimal("1.6")), 5) == Decimal("0.23094")


@pytest.mark.parametrize(
    ("text", "unit"), [("9,5", "bar"), ("NaN", "bar"), ("9" * 300, "bar"), ("9.5", "N_m")]
)
def test_it_refuses_nonsense(text: str, unit: str) -> None:
    with pytest.raises(UnitError):
        judge(text, unit, BAND, GAUGE)


def test_it_takes_the_longest_number_it_reads() -> None:
    limit = Limit("intermediate pressure", "bar", high=Decimal(10) ** 12)
    assert judge("999999999998.999999999999", "bar", limit, GAUGE).verdict == "within"
