"""The only writer of the journal."""

import secrets
from datetime import UTC
from typing import Any

from django.db import transaction

from shop.journal.models import Entry, Words
from shop.journal.rules import BEGIN, canonical, entry_hash, words_digest
from shop.workshop.reads import now


def write(
    *,
    subject: str,
    by: str,
    verb: str,
    facts: dict[str, Any] | None = None,
    words: dict[str, Any] | None = None,
) -> Entry:
    """Append one row to the chain of a subject whose parent row the caller has locked.

    `facts` hold ids and figures and are hashed; `words` hold personal text, of which only a salted digest is.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("The journal is written in the transaction of the action only.")
    last = Entry.objects.filter(subject=subject).order_by("-n").first()
    salt, text = secrets.token_hex(16), canonical(words) if words else ""
    row = Entry(
        subject=subject,
        n=last.n + 1 if last else 1,
        at=now(),
        by=by,
        verb=verb,
        facts=canonical(facts or {}),
        digest=words_digest(salt, text) if words else "",
        previous=last.hash if last else BEGIN,
    )
    row.hash = hash_of(row)
    row.save(force_insert=True)
    if words:
        Words.objects.create(entry=row, salt=salt, text=text)
    return row


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
