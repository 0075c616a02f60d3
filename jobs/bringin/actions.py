"""Go on with a file: its dry run, or bringing its rows in chunk by chunk."""

from collections.abc import Callable
from time import monotonic
from typing import Any

from django.db import transaction

from jobs.batches.actions import locked, tell_batch
from jobs.batches.models import Batch, Brought, Finding, Upload
from jobs.batches.rules import CHUNK, WORKING, State, What, cause_of
from jobs.bringin.reads import Found, Good, Judge, chunks
from jobs.safety.actions import look_at_items
from shop.catalogue.actions import model_for
from shop.clocks.actions import Past, restart_past
from shop.customers.actions import add_customers
from shop.gear.actions import add_items
from shop.gear.models import Identifier
from shop.sheets.reads import Sheet
from shop.sheets.rules import BadSheet, Row


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
        fresh = locked(batch)
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
            if batch.state != State.BRINGING or monotonic() > until:
                return
        passed = end


def _bring_chunk(batch: Batch, columns: list[str], chunk: list[Row], passed: int) -> Batch:
    """One chunk, of which `passed` rows stand before it: all of its rows that are not in yet, or none."""
    with transaction.atomic():
        batch = locked(batch)
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
            tell_batch(batch=batch, by=batch.by, verb="brought in")
        batch.save()
    return batch


def _make(batch: Batch, good: list[Good]) -> None:
    """Make what the rows say, through the rooms whose rows they are, and remember which row made what."""
    what, made = What(batch.what), [_brought(batch, each) for each in good]
    if what is What.CUSTOMERS:
        kept = ("kind", "name", "email", "phone", "postal", "language", "reminders")
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
        look_at_items(items=[each.data["to"] for each in good])
    Brought.objects.bulk_create(made)


def _brought(batch: Batch, good: Good) -> Brought:
    return Brought(batch=batch, what=batch.what, line=good.line, old_key=good.data.get("old_key", ""))


def _new_items(batch: Batch, good: list[Good]) -> list[dict[str, Any]]:
    models: dict[tuple[str, ...], Any] = {}
    rows = []
    for d in (each.data for each in good):
        key = (d["maker"], d["model"], d["revision"], d["kind"])
        if key not in models:
            named = dict(zip(("maker", "name", "revision", "kind"), key, strict=True))
            models[key] = model_for(by=batch.by, **named)
        marks = [(Identifier.SERIAL, d["serial"])]  # an empty one is kept as unreadable
        marks += [(Identifier.OWNERS_MARK, d["owners_mark"])] if d["owners_mark"] else []
        rows.append({"owner": d["to"], "model": models[key], "marks": marks})
    return rows


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
        batch = locked(batch)
        if batch.state in WORKING:
            batch.findings.all().delete()
            _note(batch, [Found(0, "", said)])
            batch.state, batch.rows, batch.passed, batch.bad = State.CHECKED.value, 1, 1, 1
            batch.save()
