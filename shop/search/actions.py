"""The only writer of what can be found."""

from collections.abc import Callable, Iterator
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from shop.search.models import Findable
from shop.search.rules import Thing, words_of

STORED = ["kind", "number", "title", "note", "address", "words"]
BATCH = 500


def put(*, thing: Thing) -> None:
    """Write down a thing that was added or changed, in the transaction of the action that did it."""
    put_all(things=[thing])


def put_all(*, things: list[Thing]) -> None:
    """The same of many things at once."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("What can be found is written in the transaction of the action only.")
    rows = [_row(thing) for thing in things]
    Findable.objects.bulk_create(
        rows, update_conflicts=True, unique_fields=["subject"], update_fields=STORED, batch_size=BATCH
    )


def forget(*, subject: str) -> None:
    """A thing that was merged into another is found no more, from the transaction of the action that did it."""
    forget_all(subjects=[subject])


def forget_all(*, subjects: list[str]) -> None:
    """The same of many things at once."""
    for start in range(0, len(subjects), BATCH):
        Findable.objects.filter(subject__in=subjects[start : start + BATCH]).delete()


def find_again(*, sources: list[tuple[QuerySet[Any], Callable[[Any], Thing]]]) -> int:
    """Make every row agree with what it was made from; how many had to be written or taken away.

    People may work meanwhile: only rows that differ are written, each under its own lock.
    """
    gone = set(Findable.objects.values_list("subject", flat=True))
    count = 0
    for rows, thing_of in sources:
        for batch in _batches(rows):
            things = {row.pk: thing_of(row) for row in batch}
            subjects = [thing.subject for thing in things.values()]
            stored = Findable.objects.in_bulk(subjects, field_name="subject")
            gone.difference_update(subjects)
            for pk, thing in things.items():
                if _differs(stored.get(thing.subject), thing):
                    _put_fresh(rows, pk, thing_of)
                    count += 1
    Findable.objects.filter(subject__in=gone).delete()
    return count + len(gone)


def _batches(rows: QuerySet[Any]) -> Iterator[list[Any]]:
    last = 0
    while batch := list(rows.filter(pk__gt=last).order_by("pk")[:BATCH]):
        yield batch
        last = batch[-1].pk


def _differs(row: Findable | None, thing: Thing) -> bool:
    fresh = _row(thing)
    return row is None or any(getattr(row, name) != getattr(fresh, name) for name in STORED)


def _put_fresh(rows: QuerySet[Any], pk: int, thing_of: Callable[[Any], Thing]) -> None:
    """Lock the row first, then read: whoever changes the thing meanwhile writes after us and has the last word."""
    with transaction.atomic():
        row = rows.filter(pk=pk).first()
        if row is None:
            return  # it was merged away since the batch was read
        thing = thing_of(row)
        Findable.objects.bulk_create([_row(thing)], ignore_conflicts=True)
        list(Findable.objects.select_for_update().filter(subject=thing.subject))
        if fresh := rows.filter(pk=pk).first():
            put(thing=thing_of(fresh))
        else:
            forget(subject=thing.subject)


def _row(thing: Thing) -> Findable:
    return Findable(
        subject=thing.subject,
        kind=thing.kind.value,
        number=thing.number,
        title=thing.title,
        note=thing.note,
        address=thing.address,
        words=words_of(thing),
    )
