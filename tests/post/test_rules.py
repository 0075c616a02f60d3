"""How long a letter waits before it is tried again."""

from datetime import timedelta

import pytest

from shop.post.rules import LEASE, MOST_ATTEMPTS, Purpose, State, wait, way_out, without_secrets


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


def test_it_knows_seven_purposes_and_nine_states() -> None:
    assert [str(purpose) for purpose in Purpose] == [
        "reminder", "safety", "ready to collect", "booking", "drop-off", "order", "sign-in"
    ]  # fmt: skip
    assert [str(state) for state in State] == [
        "new", "taken", "sending", "sent", "retry", "failed", "suppressed", "uncertain", "stopped",
    ]  # fmt: skip


def test_it_cuts_the_secret_of_a_private_link() -> None:
    said = "Follow <https://w.example/answer/aB3_-x9/one-click>.\nOr /porthole/zz: /answers/7 stays."

    cut = "Follow <https://w.example/answer/…/one-click>.\nOr /porthole/…: /answers/7 stays."
    assert without_secrets(said) == cut


def test_it_offers_one_press_where_the_press_is_safe() -> None:
    """RFC 8058, 3.1: one https URI beside the exact words; RFC 2369, 3.2 alone for an address without https."""
    assert way_out("") == {}
    assert way_out("https://desk.example/out/x") == {
        "List-Unsubscribe": "<https://desk.example/out/x>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
    }
    assert way_out("http://127.0.0.1:8000/out/x") == {"List-Unsubscribe": "<http://127.0.0.1:8000/out/x>"}


@pytest.mark.parametrize(
    "address", ["/out/x", "mailto:a@desk.example", "https://a b", "https://a>", "https://a\r\nBcc: x"]
)
def test_it_refuses_a_way_out_that_is_no_address(address: str) -> None:
    with pytest.raises(ValueError, match="absolute"):
        way_out(address)
