"""How long a letter waits before it is tried again."""

from datetime import timedelta

import pytest

from shop.post.rules import LEASE, MOST_ATTEMPTS, Purpose, State, wait


@pytest.mark.parametrize(
    ("attempts", "minutes"),
    [(1, 1), (2, 5), (3, 15), (4, 30), (5, 60), (6, 120), (7, 240), (8, 240), (36, 240)],
)
def test_it_works(attempts: int, minutes: int) -> None:
    assert wait(attempts) == timedelta(minutes=minutes)


def test_it_gives_a_letter_up_after_four_to_five_days() -> None:
    """RFC 5321, 4.5.4.1: "generally at least 4-5 days"."""
    waited = sum((wait(n) for n in range(1, MOST_ATTEMPTS)), timedelta())

    assert timedelta(days=4) < waited < timedelta(days=6)


def test_it_leases_for_longer_than_one_wait_for_the_server() -> None:
    assert timedelta(seconds=15) * 2 < LEASE


def test_it_knows_five_purposes_and_eight_states() -> None:
    assert [str(purpose) for purpose in Purpose] == [
        "reminder", "safety", "ready to collect", "order", "sign-in"
    ]  # fmt: skip
    assert [str(state) for state in State] == [
        "new", "taken", "sending", "sent", "retry", "failed", "suppressed", "uncertain",
    ]  # fmt: skip
