"""Verify the journal."""

from collections.abc import Iterator

from shop.journal.actions import hash_of
from shop.journal.models import Entry
from shop.journal.rules import BEGIN, words_digest


def faults() -> Iterator[str]:
    """Every fault of every chain, as sentences that name the row; nothing when all is well.

    A cut tail shows only to somebody who holds a checkpoint: the chain alone cannot see it.
    """
    rows = Entry.objects.select_related("words").order_by("subject", "n")
    subject, n, previous = "", 0, BEGIN
    for row in rows.iterator(chunk_size=2000):
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
