"""Folding, short numbers, and what a question asks for."""

import pytest

from shop.search.rules import Kind, Thing, fold, question, short, words_of


def test_it_works() -> None:
    thing = Thing("customer:1", Kind.CUSTOMER, "K-0001", "Maja Lindqvist", "/customers/1", "+441632960417")

    assert words_of(thing) == "maja lindqvist +441632960417 \x02k-0001\x03 \x01k1\x03"


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("Tomás  Brandão", "tomas brandao"),
        ("\tMAJA\n Lindqvist ", "maja lindqvist"),
        ("Straße", "strasse"),
        ("STRASSE", "strasse"),
        ("ΣΊΣΥΦΟΣ", "σισυφοσ"),
        ("ＴＨ－４０", "th-40"),
        ("ﬁn", "fin"),
        ("نُور", "نور"),
        ("\u200fنور\u200e", "نور"),
        ("東京 潜水", "東京 潜水"),
        ("a\0b\x02c\x03", "abc"),
        ("a\ud800b", "ab"),
        ("\u0301", ""),
        (" \0 ", ""),
        ("", ""),
    ],
)
def test_it_folds(text: str, folded: str) -> None:
    assert fold(text) == folded


@pytest.mark.parametrize(
    ("number", "expected"),
    [
        ("K-0001", "k1"), ("k1", "k1"), ("K-1", "k1"), ("E-00012", "e12"), ("C-0001-2", "c1-2"), ("c1-2", "c1-2"),
        ("417", "417"), ("0417", "417"), ("C-00011", "c11"), ("0", "0"),
        ("TH-40817", ""), ("C-0001-", ""), ("K-", ""), ("-1", "1"), ("", ""), ("٣", ""),
    ],
)  # fmt: skip
def test_it_shortens_our_numbers_only(number: str, expected: str) -> None:
    assert short(number) == expected


@pytest.mark.parametrize(
    ("asked", "phone"),
    [
        ("01632 960417", "1632960417"),
        ("(01632) 960-417", "1632960417"),
        ("+44 (0)1632 960417", "441632960417"),
        ("0044 1632 960417", "441632960417"),
        ("960417", "960417"),
    ],
)
def test_it_asks_for_a_telephone_number_as_it_is_kept(asked: str, phone: str) -> None:
    assert question(asked).others[0] == phone


@pytest.mark.parametrize(
    ("engraved", "asked"),
    [
        ("TH-40817", "TH40817"), ("TH-40817", "th-40817"), ("TH40817", "TH-40817"), ("TH 40.817", "th40817"),
        ("TH/40-817", "TH-40/817"), ("TH-40817", "TH 40817"), ("TH-40817", "4081"), ("TH40817", "H-408"),
    ],
)  # fmt: skip
def test_it_finds_a_serial_with_and_without_its_signs(engraved: str, asked: str) -> None:
    held = words_of(Thing("item:1", Kind.ITEM, "E-00001", "First stage", "/items/1", codes=(engraved,)))
    asks = question(asked)

    assert all(word in held for word in asks.words) or any(other in held for other in asks.others)


@pytest.mark.parametrize(("code", "scanned"), [("11-2", "112"), ("1-12", "112"), ("TH-40817", "TH40817")])
def test_a_scan_meets_no_code_that_only_looks_like_it(code: str, scanned: str) -> None:
    held = words_of(Thing("part:1", Kind.PART, code, "A part", "/parts/1", codes=(code,)))

    assert scanned.casefold() in held
    assert not any(exact in held for exact in question(scanned).exact)
    assert any(exact in held for exact in question(code).exact)


@pytest.mark.parametrize(
    "asked", ["maja@lind-qvist.example", "ada-maria thornbury", "th-4", "th40817", "K-1"]
)
def test_it_asks_for_no_other_serial(asked: str) -> None:
    assert all(other.startswith("\x01") for other in question(asked).others)


@pytest.mark.parametrize("asked", ["417", "0", "TH 40817", "+", "()", "0000"])
def test_it_takes_nothing_else_for_a_telephone_number(asked: str) -> None:
    assert all(other.startswith("\x01") for other in question(asked).others)


@pytest.mark.parametrize("asked", ["", " ", "\0", "\u0301", "\x02k-0001\x03"[:1], "\u200f"])
def test_it_asks_for_nothing_without_a_sign_that_counts(asked: str) -> None:
    assert (question(asked).words, question(asked).others, question(asked).exact) == ((), (), ())


def test_it_lets_nothing_typed_pass_for_a_code() -> None:
    thing = Thing("customer:1", Kind.CUSTOMER, "K-0001", "\x02e-00001\x03", "/customers/1")

    assert "\x02e-00001" not in words_of(thing)
    assert question("\x02e-00001\x03").words == ("e-00001",)


def test_it_cuts_a_long_question_off() -> None:
    assert question("x" * 5000).words == ("x" * 80,)
