"""Units: exact factors, one way to write a number, and plain refusals."""

from decimal import Decimal

import pytest

from jobs.bench.methods.units import UNITS, UnitError, convert, parse_reading, same_kind, symbol


def test_it_works() -> None:
    assert convert("9.5", "bar", "mbar") == Decimal("9500")


@pytest.mark.parametrize(
    ("reading", "source", "target", "expected"),
    [
        ("1", "psi", "Pa", "6894.757293168361336722673445"),
        ("1", "inH2O", "Pa", "249.08891"),
        ("1", "cmH2O", "Pa", "98.0665"),
        ("3", "inH2O", "mbar", "7.4726673"),
        ("1", "lbf_in", "N_m", "0.1129848290276167"),
        ("1", "lbf_ft", "N_m", "1.3558179483314004"),
        ("1", "ft3_min", "l_min", "28.316846592"),
        ("2.5", "min", "s", "150"),
        ("-0.05", "bar_min", "bar_min", "-0.05"),
        ("1", "MPa", "bar", "10"),
        ("1", "kPa", "mbar", "10"),
        ("0", "psi", "bar", "0"),
        ("1", "ml_min", "l_min", "0.001"),
        ("1", "l", "ml", "1000"),
        ("1", "m", "mm", "1000"),
        ("1", "ft", "m", "0.3048"),
    ],
)
def test_it_converts_exactly(reading: str, source: str, target: str, expected: str) -> None:
    assert convert(reading, source, target) == Decimal(expected)


def test_it_is_correctly_rounded_to_28_digits() -> None:
    assert convert("1", "N_m", "lbf_in") == Decimal("8.850745791327184366536984780")
    assert len(convert("1", "psi", "bar").as_tuple().digits) == 28


def test_it_names_the_units_of_a_kind() -> None:
    assert same_kind("psi_min") == ["bar_min", "psi_min"]
    assert {"bar", "psi", "inH2O"} <= set(same_kind("mbar"))
    assert "J_l" not in same_kind("mbar")


def test_it_takes_a_decimal_too() -> None:
    assert convert(Decimal("9.5"), "bar", "kPa") == Decimal("950.0")


def test_it_takes_back_what_it_gave() -> None:
    there = convert("125", "psi", "bar")
    assert abs(convert(there, "bar", "psi") - Decimal(125)) < Decimal("1e-25")


@pytest.mark.parametrize(
    ("text", "expected"), [("9.5", "9.5"), (" 9.50 ", "9.50"), ("-12", "-12"), ("+0.1", "0.1")]
)
def test_it_reads_a_number_as_written(text: str, expected: str) -> None:
    assert str(parse_reading(text)) == expected


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "nine",
        "NaN",
        "-nan",
        "inf",
        "Infinity",
        "1e5",
        "1E400",
        "9.",
        ".5",
        "1_000",
        "0x10",
        "٣",
        "−3",
        "9 5",
    ],
)
def test_it_refuses_what_is_no_plain_number(text: str) -> None:
    with pytest.raises(UnitError, match="is not a plain number such as 9.5 or -12"):
        parse_reading(text)


def test_it_refuses_a_comma_and_says_what_to_write() -> None:
    with pytest.raises(UnitError) as refused:
        parse_reading("9,5")
    assert str(refused.value) == "'9,5': write the decimal sign as a point, for example 9.5."


def test_it_refuses_300_digits_and_shows_only_forty() -> None:
    with pytest.raises(UnitError) as refused:
        parse_reading("9" * 300)
    assert str(refused.value) == f"'{'9' * 40}…' is not a plain number such as 9.5 or -12."


@pytest.mark.parametrize(
    "value", [Decimal("NaN"), Decimal("sNaN"), Decimal("Infinity"), Decimal("-Infinity")]
)
def test_it_refuses_a_decimal_that_is_not_finite(value: Decimal) -> None:
    with pytest.raises(UnitError, match="The reading is not a finite number."):
        convert(value, "bar", "psi")


@pytest.mark.parametrize(
    "value", [Decimal("1e999999"), Decimal("0e-999999"), Decimal("1e-999999"), Decimal("1e12")]
)
def test_it_refuses_a_decimal_with_a_wild_exponent(value: Decimal) -> None:
    with pytest.raises(UnitError, match="more than 12 digits before its point"):
        convert(value, "bar", "psi")


def test_it_never_turns_torque_into_pressure_or_energy() -> None:
    with pytest.raises(UnitError) as refused:
        convert("10", "N_m", "bar")
    assert str(refused.value) == "N_m is a torque and bar a pressure; they cannot be converted."
    assert symbol("N_m") == "N·m"
    assert "J" not in UNITS


@pytest.mark.parametrize("other", [name for name in UNITS if name != "J_l"])
def test_it_never_turns_work_of_breathing_into_anything_else(other: str) -> None:
    for old, new in (("J_l", other), (other, "J_l")):
        with pytest.raises(UnitError, match="they cannot be converted"):
            convert("1", old, new)
    assert symbol("J_l") == "J/L"
    assert convert("1.37", "J_l", "J_l") == Decimal("1.37")


def test_it_names_the_known_units_when_one_is_unknown() -> None:
    with pytest.raises(
        UnitError, match=r"'inH2O_60F' is not a known unit; known are Pa, kPa, MPa, bar, mbar, psi, inH2O"
    ):
        convert("1", "inH2O_60F", "bar")
