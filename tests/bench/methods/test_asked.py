from decimal import Decimal

import pytest

from jobs.bench.methods.asked import BadFigures, Choice, Figure, Rows, read

ASKS = (
    Figure("pressure", "Test pressure", "bar"),
    Figure("count", "Bubbles", optional=True),
    Rows("steps", "Readings", ("applied", "shown"), ("bar", "bar"), least=2, optional=True),
    Choice("side", "Side", ("left", "right"), optional=True),
)


def test_it_works() -> None:
    typed = read(ASKS, {"pressure": " 9.5 ", "count": "3", "steps": "0 0.1\n\n50\t50.5", "side": "left"})
    assert typed.figures == {"pressure": Decimal("9.5"), "count": Decimal(3)}
    assert typed.rows == {"steps": ((Decimal(0), Decimal("0.1")), (Decimal(50), Decimal("50.5")))}
    assert typed.choices == {"side": "left"}


@pytest.mark.parametrize(
    ("text", "bar"), [("100 kPa", "1"), ("100 mbar", "0.1"), ("2 MPa", "20"), ("10 bar", "10")]
)
def test_it_takes_a_unit_beside_the_number(text: str, bar: str) -> None:
    assert read(ASKS, {"pressure": text}).figures["pressure"] == Decimal(bar)


@pytest.mark.parametrize(
    ("given", "key", "said"),
    [
        ({}, "pressure", "Test pressure is missing."),
        ({"pressure": "  "}, "pressure", "Test pressure is missing."),
        ({"pressure": "9,5"}, "pressure", "Test pressure: '9,5': write the decimal sign as a point, for example 9.5."),
        ({"pressure": "9.5 furlong"}, "pressure", "Test pressure: 'furlong' is not a known unit."),
        ({"pressure": "9.5 s"}, "pressure", "Test pressure: s is a time and bar a pressure; they cannot be converted."),
        ({"pressure": "1", "count": "3 bar"}, "count", "Bubbles: '3 bar' is to be a number without a unit."),
        ({"pressure": "1", "steps": "1 2"}, "steps", "Readings: 2 to 100 lines are asked for, 1 were typed."),
        ({"pressure": "1", "steps": "1 2\n3"}, "steps", "Readings: line 2 is to hold applied, shown: 2 numbers."),
        ({"pressure": "1", "steps": "1 2\n3 4 5"}, "steps", "Readings: line 2 is to hold applied, shown: 2 numbers."),
        ({"pressure": "1", "steps": "1 2\n" * 101}, "steps", "Readings: 2 to 100 lines are asked for, 101 were typed."),
        ({"pressure": "1", "side": "up"}, "side", "Side: 'up' is none of left, right."),
        ({"pressure": "1", "colour": "red"}, "colour", "'colour' is not asked for here."),
    ],
)  # fmt: skip
def test_it_refuses_what_it_cannot_read(given: dict[str, str], key: str, said: str) -> None:
    with pytest.raises(BadFigures) as caught:
        read(ASKS, given)
    assert caught.value.reasons == ((key, said),)


def test_it_tells_every_reason_at_once() -> None:
    with pytest.raises(BadFigures) as caught:
        read(ASKS, {"pressure": "x", "count": "y", "more": "z"})
    assert [key for key, _ in caught.value.reasons] == ["more", "pressure", "count"]


@pytest.mark.parametrize("lines", [2, 3, 100])
def test_it_takes_the_fewest_and_the_most_lines(lines: int) -> None:
    assert len(read(ASKS, {"pressure": "1", "steps": "1 2\n" * lines}).rows["steps"]) == lines


def test_nothing_is_optional_unless_it_says_so() -> None:
    asks = (
        Figure("pressure", "Pressure"),
        Rows("steps", "Steps", ("a",), ("bar",), least=1),
        Choice("side", "Side", ("left",)),
    )
    with pytest.raises(BadFigures) as caught:
        read(asks, {})
    assert [key for key, _ in caught.value.reasons] == ["pressure", "steps", "side"]
