"""The demo's people, gear and wear: the same each time, and gear that wears shows it on the bench."""

import phonenumbers
import pytest

from jobs.bench.methods.intermediate_pressure import judge
from jobs.bench.methods.traces import parse_csv
from jobs.demo.rules import creep_bar_min, customers, dice, gear, trace


def test_it_works() -> None:
    assert (len(customers()), len(gear())) == (60, 201)
    assert {each.kind for each in customers()} == {"person", "organisation"}


def test_it_names_everybody_and_everything_once() -> None:
    assert len({each.email for each in customers()}) == 60
    assert len({each.phone for each in customers()}) == 60
    marks = [each.serial or each.mark for each in gear()]
    assert len(set(marks)) == len(marks)


def test_it_reaches_nobody() -> None:
    """Addresses end in .example (RFC 2606); numbers are of the ranges kept for fiction, by country."""
    kept = ("+441632960", "+120255501", "+612555000", "+331990000", "+4930231251")
    for each in customers():
        assert each.email.endswith(".example")
        assert each.phone.startswith(kept)
        assert phonenumbers.is_possible_number(phonenumbers.parse(each.phone))


def test_it_throws_the_same_dice() -> None:
    assert dice("lock", "T00-4000") == dice("lock", "T00-4000") != dice("lock", "T01-4001")
    assert all(0 <= dice("any", n) < 1 for n in range(1000))


@pytest.mark.parametrize(("dives", "wear"), [(0, 0.002), (100, 0.015), (200, 0.054)])
def test_it_wears_with_the_square_of_its_dives(dives: int, wear: float) -> None:
    assert creep_bar_min(dives) == pytest.approx(wear, abs=1e-9)


@pytest.mark.parametrize("dives", [0, 60, 120, 180, 240])
def test_it_shows_on_the_bench_how_worn_the_seat_is(dives: int) -> None:
    figures = judge(parse_csv(trace("T00-4000", 2, dives))).figures

    assert figures.creep_bar_min is not None
    assert float(figures.creep_bar_min.value) == pytest.approx(creep_bar_min(dives), abs=0.003)
    assert figures.lock_up_bar is not None
    assert 9.3 < float(figures.lock_up_bar.value) < 9.8
