"""The chain's arithmetic, and the SQL of append-only tables."""

import hashlib

import pytest

from shop.journal.rules import (
    BEGIN,
    append_only_sql,
    canonical,
    drop_append_only_sql,
    entry_hash,
    sha256,
    words_digest,
)

ROW = {
    "subject": "job:1", "n": 1, "at": "2026-05-01T08:00:00+00:00", "by": "system", "verb": "moved",
    "facts": '{"to":"cleared"}', "digest": "", "previous": BEGIN,
}  # fmt: skip


def test_it_works() -> None:
    """The hash is SHA-256 over a JSON list of the columns; written out here once so that it cannot drift."""
    text = (
        '["job:1",1,"2026-05-01T08:00:00+00:00","system","moved","{\\"to\\":\\"cleared\\"}","","'
        + "0" * 64
        + '"]'
    )

    assert entry_hash(**ROW) == hashlib.sha256(text.encode()).hexdigest()  # type: ignore[arg-type]  # mixed values


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("subject", "job:2"),
        ("n", 2),
        ("at", "2026-05-01T08:00:01+00:00"),
        ("by", "somebody"),
        ("verb", "assigned"),
        ("facts", "{}"),
        ("digest", "ab"),
        ("previous", "1" * 64),
    ],
)
def test_it_changes_the_hash_with_every_column(column: str, value: object) -> None:
    assert entry_hash(**(ROW | {column: value})) != entry_hash(**ROW)  # type: ignore[arg-type]  # likewise


def test_it_keeps_neighbouring_columns_apart() -> None:
    one = entry_hash(**(ROW | {"by": "ab", "verb": "c"}))  # type: ignore[arg-type]  # likewise
    other = entry_hash(**(ROW | {"by": "a", "verb": "bc"}))  # type: ignore[arg-type]  # likewise

    assert one != other


def test_it_writes_json_in_one_way() -> None:
    assert canonical({"b": 1, "a": ["é", None, True]}) == '{"a":["é",null,true],"b":1}'


def test_it_hashes_words_with_their_salt() -> None:
    """SHA-256 of "abc" is a vector of FIPS 180-2, appendix B.1."""
    assert sha256("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert words_digest("a", "bc") == sha256("abc")


def test_it_takes_away_the_triggers_it_puts_up() -> None:
    for vendor, count in (("sqlite", 2), ("postgresql", 3)):
        assert len(append_only_sql(vendor, "t")) == count
        assert len(drop_append_only_sql(vendor, "t")) == 2
