"""Verify the journal; tell it to people."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.apps import apps
from django.conf import settings
from django.db.models import QuerySet
from django.utils.module_loading import import_string

from shop.journal.actions import hash_of
from shop.journal.models import Entry
from shop.journal.rules import BEGIN, UID, readable, words_digest
from shop.workshop.reads import columns

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


@dataclass(frozen=True)
class Told:
    """An entry with everything in it said in words."""

    entry: Entry
    who: str
    subject: str
    facts: list[tuple[str, str]]
    personal: dict[str, Any] | None
    words: list[tuple[str, str]]


def subjects_of(kind: str, row: Any) -> list[str]:
    """The chains of a row, of those merged into it, and of what belongs to it as settings.HISTORIES say."""
    uids = [row.uid, *row.merged.order_by("pk").values_list("uid", flat=True)]
    own = [f"{kind}:{uid}" for uid in uids]
    return own + [subject for name in settings.HISTORIES[kind] for subject in import_string(name)(row)]


def history(subjects: Iterable[str]) -> QuerySet[Entry]:
    """What was journalled on chains, with its words."""
    return Entry.objects.filter(subject__in=list(subjects)).select_related("words")


def told(entries: Iterable[Entry]) -> list[Told]:
    """Entries for people; whatever has a uid in them is named as it is named now."""
    rows = list(entries)
    names = _names({uid[0] for row in rows for uid in UID.finditer(f"{row.subject} {row.by} {row.facts}")})
    found = []
    for row in rows:
        kind, _, uid = row.subject.partition(":")
        words = getattr(row, "words", None)
        personal = json.loads(words.text) if words and words.text else None
        found.append(
            Told(
                entry=row,
                who=names.get(row.by, row.by),
                subject=names.get(uid, kind.replace("-", " ")),
                facts=readable(json.loads(row.facts), names),
                personal=personal,
                words=readable(personal or {}, {}),
            )
        )
    return found


def _names(uids: set[str]) -> dict[str, str]:
    """The number, or else the name, of every row with one of these uids, as far as settings.NAMED know it."""
    models, asked = [apps.get_model(label) for label in settings.NAMED], [UUID(each) for each in uids]
    # Where each is, in one statement: most pages name rows of two or three kinds.
    each = [f"SELECT {n}, id FROM {m._meta.db_table} WHERE uid = ANY(%s)" for n, m in enumerate(models)]  # noqa: S608 - tables of ours
    keys: dict[int, list[int]] = {}
    for n, pk in columns(" UNION ALL ".join(each), *[asked] * len(models)) if asked else []:
        keys.setdefault(n, []).append(pk)
    found = {}
    for n, those in keys.items():
        rows = models[n]._default_manager.filter(pk__in=those)
        for row in rows if hasattr(models[n], "label") else rows.select_related():
            found[str(row.uid)] = getattr(row, "label", "") or str(row)
    return found
