"""Verify the journal."""

from collections.abc import Iterator

from shop.journal.actions import hash_of
from shop.journal.models import Entry
from shop.journal.rules import BEGIN, words_digest

BATCH = 2000


def faults() -> Iterator[str]:
    """Every fault of every chain, as sentences that name the row; nothing when all is well.

    A cut tail shows only to somebody who holds a checkpoint: the chain alone cannot see it.
    """
    subject, n, previous = "", 0, BEGIN
    for row in _rows():
        if row.subject != subject:
            subject, n, previous = row.subject, 0, BEGIN
        name = f"entry {row.pk} ({row.subject}, number {row.n})"
        if row.n != n + 1:
            yield f"{name}: number {n + 1} was expected here"
        if row.previous != previous:
            yield f"{name}: does not follow from the entry before it"
        if row.hash != hash_of(row):
            yield f"{name}: its contents do not match its hash"
        if fault := _words_fault(row):
            yield f"{name}: {fault}"
        n, previous = row.n, row.hash


def _rows() -> Iterator[Entry]:
    """Every row, chain by chain, in batches: on SQLite a cursor over all of them would keep writers waiting."""
    rows = Entry.objects.select_related("words").order_by("subject", "n")
    batch = list(rows[:BATCH])
    while batch:
        yield from batch
        last = batch[-1]
        # A bound on the subject alone lets both engines start at the right place of the index.
        batch = list(
            rows.filter(subject__gte=last.subject).exclude(subject=last.subject, n__lte=last.n)[:BATCH]
        )


def _words_fault(row: Entry) -> str:
    """What is wrong with the words of a row; erased words (no salt, no text) are not wrong."""
    words = getattr(row, "words", None)
    if not row.digest:
        return "has words that it never stated" if words else ""
    if words is None:
        return "its words are missing"
    if (words.salt or words.text) and words_digest(words.salt, words.text) != row.digest:
        return "its words do not match their digest"
    return ""
