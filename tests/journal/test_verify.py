"""`manage.py journal verify`: quiet on what is whole, and every alteration named with its row."""

from collections.abc import Callable
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, transaction

from shop.journal.actions import hash_of, write
from shop.journal.apps import missing_triggers, triggers_stand
from shop.journal.models import Entry, Words
from shop.journal.reads import BATCH, faults
from shop.journal.rules import BEGIN, append_only_sql, drop_append_only_sql
from shop.workshop.reads import now
from tests.conftest import Api, House, lift
from tests.threads import together
from tests.walk import Walk


@pytest.fixture
def walk(house: House, api: dict[str, Api]) -> Walk:
    """A job that was walked to its end."""
    return Walk(house, api).to("handed_back")


@pytest.fixture
def chain(db: None) -> list[Entry]:
    """One subject with five entries, the third of which has words."""
    for n in range(1, 6):
        write(
            subject="item:1", by="system", verb=f"verb {n}", facts={"n": n},
            words={"name": "Maja"} if n == 3 else None,
        )  # fmt: skip
    return list(Entry.objects.order_by("n"))


def long_chain(subject: str, length: int) -> None:
    """A whole chain without words, written at one go."""
    rows: list[Entry] = []
    for n in range(1, length + 1):
        previous = rows[-1].hash if rows else BEGIN
        row = Entry(subject=subject, n=n, at=now(), by="system", verb="v", facts="{}", previous=previous)
        row.hash = hash_of(row)
        rows.append(row)
    Entry.objects.bulk_create(rows)


def forge(change: Callable[[], Any]) -> None:
    """Change what triggers protect, as somebody with the database's password could."""
    lift(drop_append_only_sql)
    try:
        change()
    finally:
        lift(append_only_sql)


def verify() -> tuple[int, str]:
    """The command's exit code and what it wrote to either stream."""
    out = StringIO()
    try:
        call_command("journal", "verify", stdout=out, stderr=out)
    except CommandError as error:
        return error.returncode, out.getvalue() + str(error)
    return 0, out.getvalue()


def test_it_works(walk: Walk) -> None:
    assert Entry.objects.count() > 30
    assert list(faults()) == []
    assert verify()[0] == 0


def test_it_finds_nothing_in_an_empty_journal(db: None) -> None:
    assert verify()[0] == 0


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("at", "2001-01-01 00:00:00+00:00"),
        ("by", "nobody"),
        ("verb", "another verb"),
        ("facts", '{"n":9}'),
        ("digest", "d" * 64),
        ("previous", "e" * 64),
        ("hash", "f" * 64),
        ("subject", "item:2"),
        ("n", 17),
    ],
)
def test_it_names_the_row_whose_column_was_altered(chain: list[Entry], column: str, value: Any) -> None:
    row = chain[1]

    forge(lambda: Entry.objects.filter(pk=row.pk).update(**{column: value}))

    code, text = verify()
    assert code == 1
    assert f"entry {row.pk} (" in text


def test_it_covers_every_column() -> None:
    columns = {field.column for field in Entry._meta.fields} - {"id"}

    marks = test_it_names_the_row_whose_column_was_altered.pytestmark
    assert {name for name, _ in marks[0].args[1]} == columns


def test_it_names_only_the_row_whose_contents_were_altered(chain: list[Entry]) -> None:
    row = chain[1]

    forge(lambda: Entry.objects.filter(pk=row.pk).update(verb="another verb"))

    assert list(faults()) == [f"entry {row.pk} (item:1, number 2): its contents do not match its hash"]


def test_it_names_the_follower_when_a_row_was_altered_and_hashed_again(chain: list[Entry]) -> None:
    row, follower = chain[1], chain[2]
    row.verb = "another verb"

    forge(lambda: Entry.objects.filter(pk=row.pk).update(verb=row.verb, hash=hash_of(row)))

    assert list(faults()) == [
        f"entry {follower.pk} (item:1, number 3): does not follow from the entry before it"
    ]


def test_it_names_the_row_after_one_that_was_deleted(chain: list[Entry]) -> None:
    row, follower = chain[1], chain[2]

    forge(lambda: Entry.objects.filter(pk=row.pk).delete())

    assert list(faults()) == [
        f"entry {follower.pk} (item:1, number 3): number 2 was expected here",
        f"entry {follower.pk} (item:1, number 3): does not follow from the entry before it",
    ]


def test_it_names_two_rows_that_were_swapped(chain: list[Entry]) -> None:
    one, other = chain[1], chain[3]

    def swap() -> None:
        Entry.objects.filter(pk=one.pk).update(n=99)
        Entry.objects.filter(pk=other.pk).update(n=one.n)
        Entry.objects.filter(pk=one.pk).update(n=other.n)

    forge(swap)

    code, text = verify()
    assert code == 1
    assert f"entry {one.pk} (item:1, number 4): its contents do not match its hash" in text
    assert f"entry {other.pk} (item:1, number 2): its contents do not match its hash" in text


def test_it_names_the_row_whose_words_were_altered(chain: list[Entry]) -> None:
    row = chain[2]
    Words.objects.filter(entry=row).update(text='{"name":"Mia"}')

    assert list(faults()) == [f"entry {row.pk} (item:1, number 3): its words do not match their digest"]


def test_it_names_the_row_whose_words_were_deleted(chain: list[Entry]) -> None:
    row = chain[2]
    Words.objects.filter(entry=row).delete()

    assert list(faults()) == [f"entry {row.pk} (item:1, number 3): its words are missing"]


def test_it_names_the_row_that_was_given_words(chain: list[Entry]) -> None:
    row = chain[0]
    Words.objects.create(entry=row, salt="ab", text="{}")

    assert list(faults()) == [f"entry {row.pk} (item:1, number 1): has words that it never stated"]


def test_it_verifies_once_words_were_erased(chain: list[Entry]) -> None:
    Words.objects.filter(entry=chain[2]).update(salt="", text="")

    assert list(faults()) == []


def test_it_names_words_that_were_written_in_place_of_erased_ones(chain: list[Entry]) -> None:
    row = chain[2]
    Words.objects.filter(entry=row).update(salt="", text='{"name":"Mia"}')

    assert list(faults()) == [f"entry {row.pk} (item:1, number 3): its words do not match their digest"]


def test_it_cannot_see_a_cut_tail(chain: list[Entry]) -> None:
    """A limit, stated: only somebody who holds a checkpoint from outside sees that the newest rows are gone."""
    forge(lambda: Entry.objects.filter(n__gte=4).delete())

    assert list(faults()) == []
    assert verify()[0] == 0


def test_it_reads_chains_that_are_longer_than_a_batch(db: None) -> None:
    for subject, length in (("item:1", BATCH), ("item:2", 2 * BATCH + 1), ("item:3", 3)):
        long_chain(subject, length)
    assert list(faults()) == []

    bad = Entry.objects.filter(n__in=[1, BATCH - 1, BATCH, BATCH + 1, 2 * BATCH + 1])
    forge(lambda: bad.update(verb="another verb"))

    assert [fault.partition(")")[0].partition(" (")[2] for fault in faults()] == [
        "item:1, number 1", "item:1, number 1999", "item:1, number 2000",
        "item:2, number 1", "item:2, number 1999", "item:2, number 2000", "item:2, number 2001",
        "item:2, number 4001", "item:3, number 1",
    ]  # fmt: skip


def test_it_lets_people_write_while_it_reads(real_database: None) -> None:
    long_chain("item:1", BATCH + 500)
    forge(lambda: Entry.objects.filter(n=1).update(verb="another verb"))

    reading = faults()
    assert "number 1)" in next(reading)

    def write_one(_: int) -> int:
        with connection.cursor() as cursor:
            if connection.vendor == "sqlite":
                cursor.execute("PRAGMA busy_timeout = 200")
        with transaction.atomic():
            return write(subject="item:1", by="system", verb="written meanwhile").n

    assert together(1, write_one) == [2501]
    assert list(reading) == []


def test_it_names_a_trigger_that_is_missing(chain: list[Entry]) -> None:
    lift(drop_append_only_sql)
    try:
        code, text = verify()
        names, errors = missing_triggers(), triggers_stand(databases=["default"])
    finally:
        lift(append_only_sql)

    assert code == 1
    assert "trigger journal_entry_no_" in text
    assert names
    assert [error.id for error in errors] == ["journal.E001"] * len(names)
    assert triggers_stand(databases=["default"]) == []


@pytest.mark.parametrize("statement", ["UPDATE journal_entry SET verb = 'x'", "DELETE FROM journal_entry"])
def test_it_refuses_an_edit_while_the_triggers_stand(chain: list[Entry], statement: str) -> None:
    with (
        pytest.raises(DatabaseError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)

    assert Entry.objects.count() == 5


def test_it_writes_only_inside_a_transaction(transactional_db: None) -> None:
    with pytest.raises(RuntimeError, match="transaction"):
        write(subject="item:1", by="system", verb="x")


def test_it_keeps_personal_words_out_of_the_chain(walk: Walk) -> None:
    for column in ("facts", "by", "verb", "subject"):
        text = " ".join(Entry.objects.values_list(column, flat=True))
        assert "Maja" not in text
        assert "lindqvist" not in text
