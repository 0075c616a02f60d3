"""Add, change and withdraw likely causes."""

from typing import Any

from django.db import transaction

from shop.advice.models import Advice
from shop.advice.reads import shipped_missing
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, Stale, refuse

_TWICE = "The table has this part for this pattern already: change that row."


def add_advice(*, by: Person, **told: str) -> Advice:
    """Add a likely cause."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        row, made = Advice.objects.get_or_create(**_which(told), withdrawn_at=None, defaults=told)
        if not made:
            refuse([Refusal("advice-twice", _TWICE, "part")])
        _journal(by, row, "advice added")
    return row


def take_shipped(*, by: Person) -> int:
    """Add the rows that come with the house and that the table never had; how many."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        missing = shipped_missing()
        for told in missing:
            add_advice(by=by, **told)
    return len(missing)


def change_advice(*, by: Person, advice: Advice, seen: int, **told: str) -> Advice:
    """Change a likely cause that the caller saw at version `seen`."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        row = _open(advice, seen)
        if Advice.objects.filter(**_which(told), withdrawn_at=None).exclude(pk=row.pk).exists():
            refuse([Refusal("advice-twice", _TWICE, "part")])
        for name, value in told.items():
            setattr(row, name, value)
        return _kept(by, row, "advice changed")


def withdraw_advice(*, by: Person, advice: Advice, seen: int) -> Advice:
    """Show a likely cause no more; the row stays."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        row = _open(advice, seen)
        row.withdrawn_at = now()
        return _kept(by, row, "advice withdrawn")


def _which(told: dict[str, Any]) -> dict[str, str]:
    return {name: told[name] for name in ("what", "side", "kind", "part")}


def _open(advice: Advice, seen: int) -> Advice:
    row = Advice.objects.select_for_update().get(pk=advice.pk)
    if row.version != seen:
        raise Stale(row.version)
    if row.withdrawn_at is not None:
        refuse([Refusal("advice-withdrawn", "It was withdrawn: add another row instead.")])
    return row


def _kept(by: Person, row: Advice, verb: str) -> Advice:
    row.version += 1
    row.save()
    _journal(by, row, verb)
    return row


def _journal(by: Person, row: Advice, verb: str) -> None:
    names = ("what", "side", "kind", "part", "words", "source", "version")
    facts = {name: getattr(row, name) for name in names}
    write(subject=f"advice:{row.uid}", by=str(by.uid), verb=verb, facts=facts)
