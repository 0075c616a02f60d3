"""What an order is and what may be done with it: the pure rules, by tables. Every figure was reckoned by hand."""

from datetime import date

import pytest

from shop.orders.rules import (
    changing_refusals,
    closing_refusals,
    cost_of,
    draft_refusals,
    expected,
    order_letter,
    packs_for,
    receiving_refusals,
    sending_refusals,
    standing,
)
from shop.workshop.rules import Refusal


def codes(found: list[Refusal]) -> list[str]:
    return [each.code for each in found]


@pytest.mark.parametrize(
    ("state", "ordered", "missing", "said"),
    [
        ("draft", 20, 20, "draft"),
        ("sent", 20, 20, "sent"),
        ("sent", 20, 1, "part received"),
        ("closed", 20, 5, "closed, 5 pieces not received"),
        ("closed", 20, 0, "closed"),
    ],
)
def test_how_an_order_stands(state: str, ordered: int, missing: int, said: str) -> None:
    assert standing(state, ordered, missing, "piece") == said


@pytest.mark.parametrize(
    ("pieces", "pack", "packs"), [(0, 10, 0), (1, 10, 1), (10, 10, 1), (11, 10, 2), (21, 1, 21)]
)
def test_how_many_packs_are_enough(pieces: int, pack: int, packs: int) -> None:
    assert packs_for(pieces, pack) == packs


def test_when_an_order_should_come() -> None:
    assert expected(date(2026, 2, 26), 5) == date(2026, 3, 3)
    assert expected(date(2026, 2, 26), 0) == date(2026, 2, 26)
    assert expected(date(2026, 2, 26), None) is None


@pytest.mark.parametrize(
    ("before", "quantity", "pack", "price", "cost"),
    [
        (0, 10, 10, 1250, 1250),
        (0, 3, 10, 1000, 300),
        (0, 1, 3, 1000, 333),  # three for 10.00: 3.33, 3.33 and 3.34 are 10.00
        (1, 1, 3, 1000, 333),
        (2, 1, 3, 1000, 334),
        (0, 4, 3, 1000, 1333),
        (0, 5, 5, 0, 0),
        (0, 5, 5, None, None),
    ],
)
def test_what_pieces_cost(before: int, quantity: int, pack: int, price: int | None, cost: int | None) -> None:
    assert cost_of(before, quantity, pack, price) == cost


@pytest.mark.parametrize(
    ("offers", "elsewhere", "found"),
    [
        (["TH-1", "TH-2"], [], []),
        ([], [], ["nothing"]),
        (["TH-1", "TH-2", "TH-1"], [], ["part-twice"]),
        (["TH-1", "TH-1"], ["TH-2"], ["part-twice", "other-supplier"]),
    ],
)
def test_what_goes_on_a_draft(offers: list[str], elsewhere: list[str], found: list[str]) -> None:
    assert codes(draft_refusals(offers, elsewhere=elsewhere)) == found


def test_lines_change_on_a_draft_only() -> None:
    assert codes(changing_refusals("draft")) == []
    assert codes(changing_refusals("sent")) == codes(changing_refusals("closed")) == ["order-sent"]


@pytest.mark.parametrize(
    ("state", "how", "lines", "email", "found"),
    [
        ("draft", "e-mail", 1, "a@b.example", []),
        ("draft", "telephone", 1, "", []),
        ("draft", "paper", 1, "", []),
        ("draft", "e-mail", 1, "", ["no-email"]),
        ("draft", "paper", 0, "", ["no-lines"]),
        ("draft", "e-mail", 0, "", ["no-lines", "no-email"]),
        ("sent", "e-mail", 1, "a@b.example", ["order-sent"]),
        ("closed", "paper", 1, "", ["order-sent"]),
    ],
)
def test_when_an_order_is_sent(state: str, how: str, lines: int, email: str, found: list[str]) -> None:
    assert codes(sending_refusals(state, how, lines=lines, email=email)) == found


@pytest.mark.parametrize(
    ("state", "quantity", "missing", "more", "found"),
    [
        ("sent", 10, 10, False, []),
        ("sent", 3, 10, False, []),
        ("sent", 11, 10, False, ["more-than-ordered"]),
        ("sent", 11, 10, True, []),
        ("sent", 1, 0, False, ["more-than-ordered"]),
        ("draft", 1, 10, True, ["not-open"]),
        ("closed", 1, 10, True, ["not-open"]),
    ],
)
def test_what_may_be_received(state: str, quantity: int, missing: int, more: bool, found: list[str]) -> None:
    refused = receiving_refusals(state, quantity=quantity, missing=missing, more=more, unit="piece")
    assert codes(refused) == found


def test_what_is_closed_by_hand() -> None:
    assert codes(closing_refusals("sent")) == []
    assert codes(closing_refusals("draft")) == codes(closing_refusals("closed")) == ["not-open"]


def test_the_letter_names_everything() -> None:
    rows = [(2, "10 pieces", "TH-302", "Yoke ring", "SR-7"), (1, "50 g", "TH-1", "Grease", "")]
    text = order_letter("Order 7", rows, "Aldermouth Dive Workshop")

    assert (
        "2 packs of 10 pieces: Yoke ring (ours TH-302, yours SR-7)\n1 pack of 50 g: Grease (ours TH-1)\n"
        in text
    )
    assert "Order 7" in text
    assert text.endswith("Aldermouth Dive Workshop\n")
