"""Keep a file, say what its columns tell, let its rows come in, take a whole batch back."""

import hashlib
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, QuerySet

from jobs.batches.models import Batch, Brought, Upload
from jobs.batches.rules import CHUNK, State, What, begin_refusals, guess, lacking
from shop.clocks.actions import take_back_fresh, take_back_past
from shop.clocks.models import Clock, Restart
from shop.clocks.reads import untouched
from shop.customers.actions import take_back_customers
from shop.customers.models import Customer
from shop.gear.actions import take_back_items
from shop.gear.models import Identifier, Item
from shop.journal.actions import write
from shop.journal.models import Entry
from shop.post.models import Letter
from shop.sheets.reads import Sheet
from shop.sheets.rules import BadSheet
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, refuse

FEW = 20  # reasons that are said


def upload(*, by: Person, what: str, name: str, raw: bytes) -> Batch:
    """Keep a file with a guess of its columns; the same file again is the batch that it is already."""
    require(by, Can.BRING_IN)
    try:
        sheet = Sheet(raw)
        columns, encoding = sheet.columns, sheet.encoding
    except BadSheet as fault:
        refuse([Refusal("unreadable", str(fault), "file")])
    digest = hashlib.sha256(raw).hexdigest()
    same = Batch.objects.filter(what=what, sha256=digest, undone_at=None)
    if there := same.first():
        return there
    try:
        with transaction.atomic():
            batch = Batch.objects.create(
                what=what,
                name=name[:200],
                sha256=digest,
                encoding=encoding,
                columns=columns,
                mapping=guess(What(what), columns),
                at=now(),
                by=str(by.uid),
            )
            Upload.objects.create(batch=batch, raw=raw)
    except IntegrityError:
        return same.get()  # somebody else sent it at the same instant
    return batch


def set_columns(*, by: Person, batch: Batch, mapping: dict[str, str]) -> Batch:
    """Say which column tells what; the dry run begins anew with it."""
    require(by, Can.BRING_IN)
    mapping = {name: column for name, column in mapping.items() if column}
    with transaction.atomic():
        batch = locked(batch)
        refuse(_mapping_refusals(batch, mapping))
        batch.findings.all().delete()
        batch.mapping, batch.state = mapping, State.CHECKING.value
        batch.rows = batch.passed = batch.bad = batch.alike = 0
        batch.save()
    return batch


def _mapping_refusals(batch: Batch, mapping: dict[str, str]) -> list[Refusal]:
    if batch.state not in (State.COLUMNS, State.CHECKING, State.CHECKED):
        return [Refusal("begun", f"This file is {batch.state}: its columns stay as they are.")]
    unknown = [
        Refusal("no-such-column", f"The file has no column {column[:80]}.", name)
        for name, column in mapping.items()
        if column not in batch.columns
    ]
    return unknown + lacking(What(batch.what), mapping)


def begin(*, by: Person, batch: Batch, good_rows: bool) -> Batch:
    """Let the rows come in, after a dry run; with bad rows only when the good ones are asked for."""
    require(by, Can.BRING_IN)
    with transaction.atomic():
        batch = locked(batch)
        refuse(
            begin_refusals(state=batch.state, good=batch.rows - batch.bad, bad=batch.bad, good_rows=good_rows)
        )
        batch.state, batch.passed, batch.by = State.BRINGING.value, 0, str(by.uid)
        batch.save()
    return batch


def undo(*, by: Person, batch: Batch) -> Batch:
    """Take a whole batch back, as long as nothing else refers to anything that it made; or the file before it is in."""
    require(by, Can.BRING_IN)
    with transaction.atomic():
        batch = locked(batch)
        if batch.state == State.UNDONE:
            refuse([Refusal("undone", "This batch is undone already.")])
        refuse([Refusal("in-use", said) for said in _holders(batch)])
        rows = Brought.objects.filter(batch=batch).order_by("-pk")
        while chunk := list(rows.select_related("customer", "item", "restart")[:CHUNK]):
            Brought.objects.filter(pk__in=[row.pk for row in chunk]).delete()
            take_back_past(by=str(by.uid), restarts=[row.restart for row in chunk if row.restart])
            items = [row.item for row in chunk if row.item]
            take_back_fresh(items=items)
            take_back_items(items=items)
            take_back_customers(customers=[row.customer for row in chunk if row.customer])
        batch.findings.all().delete()
        Upload.objects.filter(batch=batch).delete()
        batch.state, batch.undone_at = State.UNDONE.value, now()
        batch.save()
        tell_batch(batch=batch, by=str(by.uid), verb="undone")
    return batch


def _holders(batch: Batch) -> list[str]:
    """What refers to something that a batch made, so that it cannot be taken back: a sentence for each, few at most."""
    rows = Brought.objects.filter(batch=batch)
    found = Restart.objects.filter(pk__in=rows.values("restart")) if batch.what == What.SERVICES else None
    if found is not None:
        return _later(found)
    kind, model = ("customer", Customer) if batch.what == What.CUSTOMERS else ("item", Item)
    made = model._default_manager.filter(pk__in=rows.values(kind))
    labels: dict[Any, str] = {}
    said = []
    relations: list[Any] = model._meta.get_fields(include_hidden=True)
    for relation in relations:
        if (
            relation.auto_created
            and relation.is_relation
            and relation.related_model not in (Brought, Identifier)
        ):
            field = relation.field
            held = relation.related_model._default_manager.filter(**{f"{field.name}__in": made.values("pk")})
            # What only a rule set going, and no reminder is about, goes with its item.
            if relation.related_model is Clock:
                held = held.exclude(pk__in=untouched().filter(reminders=None).values("pk"))
            for pk in held.order_by(field.attname).values_list(field.attname, flat=True).distinct()[:FEW]:
                labels[pk] = str(relation.related_model._meta.verbose_name)
    for pk in made.exclude(version=1).values_list("pk", flat=True):
        labels.setdefault(pk, "a later change")
    named = {f"{kind}:{uid}": pk for pk, uid in made.values_list("pk", "uid")}
    for subject in _journalled(kind, list(named)):
        labels.setdefault(named[subject], "an entry of the journal")
    for row in made.filter(pk__in=list(labels)[:FEW]).order_by("number"):
        said.append(f"{row.label} cannot be taken back: {labels[row.pk]} refers to it.")
    if len(labels) > FEW:
        said.append(f"And {len(labels) - FEW} more.")
    return said


def _journalled(kind: str, subjects: list[str]) -> list[str]:
    """Which rows something was done with, or were written to."""
    found: list[str] = []
    for start in range(0, len(subjects), CHUNK):
        some = subjects[start : start + CHUNK]
        found += Entry.objects.filter(subject__in=some).values_list("subject", flat=True).distinct()
        uids = [subject.partition(":")[2] for subject in some]
        found += [
            f"{kind}:{uid}"
            for uid in Letter.objects.filter(recipient__in=uids).values_list("recipient", flat=True)
        ]
    return found


def _later(made: QuerySet[Restart]) -> list[str]:
    """Clocks that something moved or that a reminder was written for since."""
    clocks = made.values("clock")
    last = made.order_by("-pk").values("clock")
    later = (
        Restart.objects.filter(clock__in=clocks, taken_back=None)
        .exclude(pk__in=made.values("pk"))
        .annotate(ours=Exists(made.filter(clock=OuterRef("clock"), pk__lt=OuterRef("pk"))))
        .filter(ours=True)
    )
    written = Clock.objects.filter(
        pk__in=last,
        reminders__due__in=made.filter(clock=OuterRef("pk")).values("due"),
        reminders__letter__isnull=False,
    )
    pks = {*later.values_list("clock", flat=True), *written.values_list("pk", flat=True)}
    rows = Clock.objects.filter(pk__in=pks).select_related("item").order_by("item__number")
    said = [
        f"{row.title} of {row.item.label} cannot be taken back: it was restarted or written about since."
        for row in rows[:FEW]
    ]
    return [*said, f"And {len(pks) - FEW} more."] if len(pks) > FEW else said


def locked(batch: Batch) -> Batch:
    """The row of a batch, locked and fresh."""
    return Batch.objects.select_for_update().get(pk=batch.pk)


def tell_batch(*, batch: Batch, by: str, verb: str) -> None:
    """The entry in the journal that stands for a whole batch."""
    facts = {
        "what": batch.what,
        "file": batch.sha256,
        "encoding": batch.encoding,
        "columns": [f"{column} is {name}" for name, column in sorted(batch.mapping.items())],
        "rows": batch.rows,
        "brought_in": batch.made,
        "bad": batch.bad,
    }
    write(subject=f"batch:{batch.uid}", by=by, verb=verb, facts=facts)
