"""The only writer of the journal."""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC
from typing import Any

from django.db import transaction

from shop.journal.models import Entry, Words
from shop.journal.rules import BEGIN, canonical, entry_hash, words_digest
from shop.workshop.reads import columns, now


@dataclass(frozen=True)
class Deed:
    """What somebody did to a subject: `facts` hold ids and figures and are hashed, `words` personal text."""

    subject: str
    by: str
    verb: str
    facts: dict[str, Any] = field(default_factory=dict)
    words: dict[str, Any] = field(default_factory=dict)


def write(
    *,
    subject: str,
    by: str,
    verb: str,
    facts: dict[str, Any] | None = None,
    words: dict[str, Any] | None = None,
) -> Entry:
    """Append one row to the chain of a subject whose parent row the caller has locked."""
    return write_all(deeds=[Deed(subject, by, verb, facts or {}, words or {})])[0]


def write_all(*, deeds: Sequence[Deed]) -> list[Entry]:
    """Append one row to each of several chains, whose parent rows the caller has locked.

    Of words only a salted digest goes into the chain: they may be erased.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("The journal is written in the transaction of the action only.")
    last, rows, said = _last([deed.subject for deed in deeds]), list[Entry](), list[Words]()
    for deed in deeds:
        salt, text = secrets.token_hex(16), canonical(deed.words) if deed.words else ""
        n, previous = last.get(deed.subject, (0, BEGIN))
        row = Entry(
            subject=deed.subject,
            n=n + 1,
            at=now(),
            by=deed.by,
            verb=deed.verb,
            facts=canonical(deed.facts),
            digest=words_digest(salt, text) if deed.words else "",
            previous=previous,
        )
        row.hash = hash_of(row)
        last[deed.subject] = (row.n, row.hash)
        rows.append(row)
        if deed.words:
            said.append(Words(entry=row, salt=salt, text=text))
    Entry.objects.bulk_create(rows)
    if said:
        Words.objects.bulk_create(said)
    return rows


def _last(subjects: list[str]) -> dict[str, tuple[int, str]]:
    """Of each chain that has begun the number and the hash of its end."""
    sql = """
    SELECT e.subject, e.n, e.hash FROM journal_entry e JOIN (
        SELECT subject, MAX(n) AS n FROM journal_entry WHERE subject = ANY(%s) GROUP BY subject
    ) newest ON newest.subject = e.subject AND newest.n = e.n
    """
    return {subject: (n, hashed) for subject, n, hashed in columns(sql, subjects)}


def hash_of(row: Entry) -> str:
    """The hash that a row should carry, from its own columns."""
    return entry_hash(
        subject=row.subject,
        n=row.n,
        at=row.at.astimezone(UTC).isoformat(),
        by=row.by,
        verb=row.verb,
        facts=row.facts,
        digest=row.digest,
        previous=row.previous,
    )
