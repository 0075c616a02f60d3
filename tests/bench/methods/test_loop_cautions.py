"""From where on a caution is said of a breathing loop, to the last digit."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from jobs.bench.methods.loop_cautions import AT_THE_SURFACE, cautions_of
from jobs.bench.methods.loop_figures import measure
from tests.bench.methods.breathing import angles, resisting, sinus

# One sound breath of 2.5 L in 200 samples.
SOUND = measure(sinus(angles(200), resisting(angles(200))))
TIDAL = "The breaths differ: tidal volumes from {} to {} L."
ZERO = "Where nothing flows the pressure is {} mbar on average: an error of zero or a head of water."
MOVED = (
    "The pressure where nothing flows moved by {} mbar from the first breath to the last: the sensor drifts."
)


def said(**figures: Any) -> list[str]:
    """What is said beside what is always said."""
    found = cautions_of(replace(SOUND, **figures), [])
    assert found[-1] == AT_THE_SURFACE
    return list(found[:-1])


def test_it_works() -> None:
    assert said() == []
    assert cautions_of(SOUND, ["colour", "smell"])[0] == (
        "Measured, not judged, because no limit was given: colour, smell."
    )


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        # 3 % of 2.5 L are 0.075 L.
        ("2.400", "2.475", []),
        ("2.400", "2.476", [TIDAL.format("2.400", "2.476")]),
        ("1.000", "3.000", [TIDAL.format("1.000", "3.000")]),
    ],
)
def test_breaths_that_differ_by_more_than_three_hundredths(low: str, high: str, words: list[str]) -> None:
    assert said(tidal_low_l=Decimal(low), tidal_high_l=Decimal(high)) == words


@pytest.mark.parametrize("sign", ["", "-"])
@pytest.mark.parametrize(("zero", "told"), [("0.400", False), ("0.401", True)])
def test_a_zero_that_is_off_by_more_than_a_twentieth_of_the_span(sign: str, zero: str, told: bool) -> None:
    span = Decimal(8)
    words = said(zero_mbar=Decimal(sign + zero), span_mbar=span)
    assert [each.startswith(ZERO.format(sign + zero)) for each in words] == ([True] if told else [])
    moved = said(zero_moved_mbar=Decimal(sign + zero), span_mbar=span)
    assert moved == ([MOVED.format(sign + zero)] if told else [])


@pytest.mark.parametrize(("points", "told"), [(181, True), (182, False)])
def test_few_samples_in_a_breath(points: int, told: bool) -> None:
    words = said(points_a_breath=points, method_error_percent=Decimal("0.017"))
    assert bool(words) is told


def test_a_gap_that_was_closed_and_samples_that_were_left_out() -> None:
    assert said(gap_l=Decimal("0.010"), gap_percent=Decimal("0.40")) == [
        "The volume ended up to 0.010 L, 0.40 % of the tidal volume, from where the breath began. The gap was closed; "
        "more than 5% would be refused."
    ]
    assert said(samples_left_out=1) == ["1 samples before and after the whole breaths were left out."]


@pytest.mark.parametrize(
    ("breaths", "known", "told"), [(1, False, False), (2, False, True), (2, True, False)]
)
def test_several_breaths_of_an_instrument_that_nobody_knows(breaths: int, known: bool, told: bool) -> None:
    assert bool(said(breaths=breaths, instrument_known=known)) is told
