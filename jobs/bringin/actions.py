"""Bring a file in, chunk by chunk, and take a whole batch back."""

import hashlib
from collections.abc import Callable
from time import monotonic
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, QuerySet

from jobs.bringin.models import Batch, Brought, Finding, Upload
from jobs.bringin.reads import CHUNK, Found, Good, Judge, chunks
from jobs.bringin.rules import WORKING, State, What, begin_refusals, cause_of, guess, lacking
from shop.catalogue.actions import model_for
from shop.clocks.actions import Past, restart_past, take_back_past
from shop.clocks.models import Clock, Restart
from shop.customers.actions import add_customers, take_back_customers
from shop.customers.models import Customer
from shop.gear.actions import NewItem, add_items, take_back_items
from shop.gear.models import Identifier, Item
from shop.journal.actions import write
from shop.journal.models import Entry
from shop.post.models import Letter
from shop.sheets.reads import Sheet
from shop.sheets.rules import BadSheet, Row
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
        batch = _locked(batch)
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
        batch = _locked(batch)
        refuse(
            begin_refusals(state=batch.state, good=batch.rows - batch.bad, bad=batch.bad, good_rows=good_rows)
        )
        batch.state, batch.passed, batch.by = State.BRINGING.value, 0, str(by.uid)
        batch.save()
    return batch


def go_on(batch: Batch, *, seconds: float = 1e9, tell: Callable[[Batch], None] = lambda batch: None) -> Batch:
    """Go on with a dry run or with bringing in, from where it stands, for about so many seconds.

    The worker and the command both call it, also at once: each chunk is one transaction that locks the batch first
    and passes over the rows that are in already.
    """
    until = monotonic() + seconds
    batch = Batch.objects.get(pk=batch.pk)
    try:
        if batch.state == State.CHECKING:
            _check(batch, tell)
        elif batch.state == State.BRINGING:
            _bring(batch, until, tell)
    except BadSheet as fault:
        _unreadable(batch, str(fault))
    return Batch.objects.get(pk=batch.pk)


def _check(batch: Batch, tell: Callable[[Batch], None]) -> None:
    """The dry run, from the beginning: it is quick, and what was said of a part of it is said anew."""
    sheet = _sheet(batch)
    what = What(batch.what)
    judge, rows, bad, found = Judge(what, sheet.columns, batch.mapping), 0, 0, list[Found]()
    for chunk in chunks(sheet, what, batch.mapping):
        good, said = judge.judge(chunk)
        rows, bad, found = rows + len(chunk), bad + len(chunk) - len(good), found + said
        batch.rows = batch.passed = rows
        tell(batch)
    with transaction.atomic():
        fresh = _locked(batch)
        if fresh.state != State.CHECKING or fresh.mapping != batch.mapping:
            return  # somebody was quicker, or chose other columns meanwhile
        _note(fresh, found)
        fresh.rows = fresh.passed = rows
        fresh.bad, fresh.alike = bad, sum(not each.bad for each in found)
        fresh.state = State.CHECKED.value
        fresh.save()


def _bring(batch: Batch, until: float, tell: Callable[[Batch], None]) -> None:
    sheet, passed = _sheet(batch), 0
    for chunk in chunks(sheet, What(batch.what), batch.mapping):
        end = passed + len(chunk)
        if end > batch.passed:
            batch = _bring_chunk(batch, sheet.columns, chunk, passed)
            tell(batch)
        passed = end
        if batch.state != State.BRINGING or monotonic() > until:
            return


def _bring_chunk(batch: Batch, columns: list[str], chunk: list[Row], passed: int) -> Batch:
    """One chunk, of which `passed` rows stand before it: all of its rows that are not in yet, or none."""
    with transaction.atomic():
        batch = _locked(batch)
        rows = chunk[max(batch.passed - passed, 0) :]
        if batch.state != State.BRINGING or not rows:
            return batch
        judge = Judge(What(batch.what), columns, batch.mapping, for_good=True)
        good, found = judge.judge(rows)
        _make(batch, good)
        known = set(batch.findings.filter(bad=True).values_list("line", flat=True))
        late = [each for each in found if each.line not in known]  # good in the dry run, and bad since
        _note(batch, late)
        batch.passed, batch.made = passed + len(chunk), batch.made + len(good)
        batch.bad += len({each.line for each in late})
        if batch.passed == batch.rows:
            batch.state = State.DONE.value
            Upload.objects.filter(batch=batch).delete()
            _tell(batch, None, "brought in")
        batch.save()
    return batch


def _make(batch: Batch, good: list[Good]) -> None:
    """Make what the rows say, through the rooms whose rows they are, and remember which row made what."""
    what, made = What(batch.what), [_brought(batch, each) for each in good]
    if what is What.CUSTOMERS:
        kept = ("kind", "name", "email", "phone", "reminders")
        customers = add_customers(rows=[{name: each.data[name] for name in kept} for each in good])
        for row, customer in zip(made, customers, strict=True):
            row.customer = customer
    elif what is What.ITEMS:
        for row, item in zip(made, add_items(rows=_new_items(batch, good)), strict=True):
            row.item = item
    else:
        past = [
            Past(d["to"].pk, d["key"], d["title"], d["months"], d["day"], cause_of(str(batch.uid), each.line))
            for each in good
            for d in [each.data]
        ]
        for row, restart in zip(made, restart_past(by=batch.by, services=past), strict=True):
            row.restart = restart
    Brought.objects.bulk_create(made)


def _brought(batch: Batch, good: Good) -> Brought:
    return Brought(batch=batch, what=batch.what, line=good.line, old_key=good.data.get("old_key", ""))


def _new_items(batch: Batch, good: list[Good]) -> list[NewItem]:
    models: dict[tuple[str, ...], Any] = {}
    rows = []
    for d in (each.data for each in good):
        key = (d["maker"], d["model"], d["revision"], d["kind"])
        if key not in models:
            named = dict(zip(("maker", "name", "revision", "kind"), key, strict=True))
            models[key] = model_for(by=batch.by, **named)
        rows.append(NewItem(d["to"], models[key], d["serial"], d["owners_mark"]))
    return rows


def undo(*, by: Person, batch: Batch) -> Batch:
    """Take a whole batch back, as long as nothing else refers to anything that it made; or the file before it is in."""
    require(by, Can.BRING_IN)
    with transaction.atomic():
        batch = _locked(batch)
        if batch.state == State.UNDONE:
            refuse([Refusal("undone", "This batch is undone already.")])
        refuse([Refusal("in-use", said) for said in _holders(batch)])
        rows = Brought.objects.filter(batch=batch).order_by("-pk")
        while chunk := list(rows.select_related("customer", "item", "restart")[:CHUNK]):
            Brought.objects.filter(pk__in=[row.pk for row in chunk]).delete()
            take_back_past(by=str(by.uid), restarts=[row.restart for row in chunk if row.restart])
            take_back_items(items=[row.item for row in chunk if row.item])
            take_back_customers(customers=[row.customer for row in chunk if row.customer])
        batch.findings.all().delete()
        Upload.objects.filter(batch=batch).delete()
        batch.state, batch.undone_at = State.UNDONE.value, now()
        batch.save()
        _tell(batch, by, "undone")
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
            for pk in held.values_list(field.attname, flat=True).distinct()[:FEW]:
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
        pk__in=last, reminders__due__in=made.filter(clock=OuterRef("pk")).values("due")
    )
    pks = {*later.values_list("clock", flat=True), *written.values_list("pk", flat=True)}
    rows = Clock.objects.filter(pk__in=pks).select_related("item").order_by("item__number")
    said = [
        f"{row.title} of {row.item.label} cannot be taken back: it was restarted or written about since."
        for row in rows[:FEW]
    ]
    return [*said, f"And {len(pks) - FEW} more."] if len(pks) > FEW else said


def _locked(batch: Batch) -> Batch:
    return Batch.objects.select_for_update().get(pk=batch.pk)


def _sheet(batch: Batch) -> Sheet:
    held = Upload.objects.filter(batch=batch).first()
    if held is None:
        raise BadSheet("Its file is here no more.")
    return Sheet(bytes(held.raw))


def _note(batch: Batch, found: list[Found]) -> None:
    rows = [
        Finding(batch=batch, line=each.line, column=each.column[:200], said=each.said[:300], bad=each.bad)
        for each in sorted(found, key=lambda each: (not each.bad, each.line))
    ]
    Finding.objects.bulk_create(rows, batch_size=CHUNK)


def _unreadable(batch: Batch, said: str) -> None:
    """A file that turns out to be broken further down: its dry run ends with that as its only finding."""
    with transaction.atomic():
        batch = _locked(batch)
        if batch.state in WORKING:
            batch.findings.all().delete()
            _note(batch, [Found(0, "", said)])
            batch.state, batch.rows, batch.passed, batch.bad = State.CHECKED.value, 1, 1, 1
            batch.save()


def _tell(batch: Batch, by: Person | None, verb: str) -> None:
    facts = {
        "what": batch.what,
        "file": batch.sha256,
        "encoding": batch.encoding,
        "columns": [f"{column} is {name}" for name, column in sorted(batch.mapping.items())],
        "rows": batch.rows,
        "brought_in": batch.made,
        "bad": batch.bad,
    }
    write(subject=f"batch:{batch.uid}", by=str(by.uid) if by else batch.by, verb=verb, facts=facts)
