"""Refusals, and the same day of another month."""

from datetime import date

import pytest

from shop.workshop.rules import Refusal, Refused, Stale, add_months, grouped, refuse


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2026, 5, 15), 0, date(2026, 5, 15)),
        (date(2026, 5, 15), 1, date(2026, 6, 15)),
        (date(2026, 12, 31), 1, date(2027, 1, 31)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(1999, 2, 28), 12, date(2000, 2, 28)),
        (date(2026, 3, 31), -1, date(2026, 2, 28)),
        (date(2026, 1, 1), -1, date(2025, 12, 1)),
    ],
)
def test_it_works(day: date, months: int, later: date) -> None:
    assert add_months(day, months) == later


def test_it_counts_from_the_anchor_because_a_chain_drifts() -> None:
    anchor = date(2024, 2, 29)

    assert add_months(anchor, 48) == date(2028, 2, 29)
    assert add_months(add_months(anchor, 12), 36) == date(2028, 2, 28)


def test_it_raises_with_every_reason() -> None:
    reasons = [Refusal("a", "First."), Refusal("b", "Second.", "field")]

    with pytest.raises(Refused) as refused:
        refuse(iter(reasons))

    assert refused.value.refusals == reasons
    assert str(refused.value) == "First. Second."


def test_it_raises_nothing_without_a_reason() -> None:
    refuse([])


def test_it_says_at_which_version_a_row_is() -> None:
    assert Stale(7).present == 7
    assert str(Stale(7)) == "It has been changed since you saw it. It is at version 7 now."


def test_it_asks_for_the_one_version_that_was_seen() -> None:
    assert str(Stale(None)) == "It has been changed since you saw it. Send the one ETag you saw."


@pytest.mark.parametrize(
    ("kept", "shown"),
    [
        ("+441632960417", "+44 1632 960417"), ("+442079460018", "+44 20 7946 0018"), ("+4930231251234", "+49 30 231251234"),
        ("+33199000000", "+33 1 99 00 00 00"), ("", ""), ("erased", "erased"), ("417", "417"),
    ],
)  # fmt: skip
def test_it_groups_a_telephone_number(kept: str, shown: str) -> None:
    assert grouped(kept) == shown.replace(" ", "\N{NO-BREAK SPACE}")
