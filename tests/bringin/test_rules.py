"""Columns that are guessed, and words of old systems."""

from datetime import date

import pytest

from jobs.batches.rules import (
    State,
    What,
    begin_refusals,
    day_of,
    guess,
    kind_of_gear,
    lacking,
    likeliest,
    months_of,
    yes_or_no,
)


def test_it_works() -> None:
    columns = ["Kundennr", "Name", "E-Mail", "Telefon", "Notiz"]

    assert guess(What.CUSTOMERS, columns) == {
        "old_key": "Kundennr", "name": "Name", "email": "E-Mail", "phone": "Telefon",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("columns", "what"),
    [
        (["nombre", "correo", "teléfono"], What.CUSTOMERS),
        (["Hersteller", "Modell", "Geräteart", "Seriennummer", "Kundennummer"], What.ITEMS),
        (["Item ID", "Service", "Date", "Interval"], What.SERVICES),
        (["Name", "Maker", "Model", "Kind", "Owner"], What.ITEMS),
    ],
)
def test_it_guesses_what_a_file_holds(columns: list[str], what: What) -> None:
    assert likeliest(columns) is what
    assert lacking(what, guess(what, columns)) == []


def test_it_takes_no_column_twice() -> None:
    found = guess(What.ITEMS, ["email", "customer no", "no", "make", "model", "type"])

    assert found == {
        "owner": "email", "owner_old_key": "customer no", "old_key": "no", "maker": "make", "model": "model", "kind": "type",
    }  # fmt: skip


def test_it_says_which_columns_lack() -> None:
    assert [r.pointer for r in lacking(What.ITEMS, {"serial": "S"})] == ["maker", "model", "kind", "owner"]
    assert [r.pointer for r in lacking(What.SERVICES, {"what": "W", "day": "D", "serial": "S"})] == ["maker"]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2024-05-31", date(2024, 5, 31)), ("2024-05-31T10:00", date(2024, 5, 31)), ("31.5.2024", date(2024, 5, 31)),
        ("05/04/2024", None), ("31.2.2024", None), ("", None), ("soon", None),
    ],
)  # fmt: skip
def test_it_reads_days_that_can_be_read_in_one_way_only(text: str, day: date | None) -> None:
    assert day_of(text) == day


def test_it_reads_words_of_other_systems() -> None:
    assert [kind_of_gear(text) for text in ("1. Stufe", "BCD", "dry suit", "premier étage", "snorkel", "")] == [
        "first_stage", "bcd", "dry_suit", "first_stage", None, None,
    ]  # fmt: skip
    assert [yes_or_no(text) for text in ("Ja", "OUI", "0", "", "maybe")] == [True, True, False, False, None]
    assert [months_of(text) for text in ("12", "24 months", "0", "601", "-1", "a year")] == [
        12,
        24,
        None,
        None,
        None,
        None,
    ]


@pytest.mark.parametrize(
    ("state", "good", "bad", "asked", "codes"),
    [
        (State.CHECKED, 5, 0, False, []),
        (State.CHECKED, 5, 1, True, []),
        (State.CHECKED, 5, 1, False, ["bad-rows"]),
        (State.CHECKED, 0, 1, True, ["nothing-good"]),
        (State.COLUMNS, 5, 0, False, ["not-checked"]),
        (State.DONE, 5, 0, False, ["not-checked"]),
    ],
)
def test_it_says_why_rows_do_not_come_in(
    state: str, good: int, bad: int, asked: bool, codes: list[str]
) -> None:
    assert [r.code for r in begin_refusals(state=state, good=good, bad=bad, good_rows=asked)] == codes
