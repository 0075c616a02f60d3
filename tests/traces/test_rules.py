"""The windows beside a window."""

from decimal import Decimal

from jobs.traces.rules import nearby


def test_they_are_closer_wider_earlier_and_later() -> None:
    expected = {"Closer": (15, 25), "Wider": (0, 40), "Earlier": (0, 20), "Later": (20, 40)}

    assert nearby(10.0, 30.0) == {
        name: (Decimal(low), Decimal(high)) for name, (low, high) in expected.items()
    }


def test_they_are_told_to_a_thousandth() -> None:
    assert str(nearby(0.0, 1 / 3)["Closer"][0]) == "0.083"
