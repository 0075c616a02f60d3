"""Propose rules, put them in force, withdraw them, follow a place; `shop/clocks` moves the dates in the same transaction."""

from typing import Any

from django.db import transaction

from shop.intervals.models import Interval
from shop.intervals.reads import followed, propose_refusals, shipped_missing
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import set_places
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, Stale, refuse


def propose(*, by: Person, replaces: Interval | None = None, **told: Any) -> Interval:
    """Write a rule down, perhaps in the place of another; it counts for nothing until it is put in force."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        if replaces is not None:
            replaces = Interval.objects.select_for_update().get(pk=replaces.pk)
        refuse(propose_refusals(told, replaces))
        row = Interval.objects.create(replaces=replaces, **told)
        _tell(by, row, "interval proposed")
    return row


def take_shipped(*, by: Person) -> int:
    """Add the published rows that the table never had; how many.

    They are in force at once where their place is not followed, since they move no date then.
    """
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        known, missing = followed(), shipped_missing()
        for told in missing:
            row = Interval.objects.create(**told)
            if row.place and row.place not in known:
                row.in_force_at = now()
                row.save(update_fields=["in_force_at"])
            _tell(by, row, "interval added")
    return len(missing)


def set_aside(*, by: Person, interval: Interval, seen: int) -> Interval:
    """Drop a rule that is only proposed; the row stays."""
    require(by, Can.KEEP_PLANS)
    with transaction.atomic():
        row = locked(interval, seen)
        if row.in_force_at:
            refuse([Refusal("in-force", "It is in force: withdraw it instead.")])
        return _kept(by, row, "interval set aside", withdrawn_at=now())


def locked(interval: Interval, seen: int) -> Interval:
    """The row of a rule that stands, locked; Stale when the caller saw another version."""
    row = Interval.objects.select_for_update().get(pk=interval.pk)
    if row.version != seen:
        raise Stale(row.version)
    if row.withdrawn_at:
        refuse([Refusal("interval-withdrawn", f"It was {row.state} and changes no more.")])
    return row


def put_in_force(*, by: Person, row: Interval) -> None:
    """A locked proposal counts from now on, and the rule that it replaces no more."""
    require(by, Can.KEEP_PLANS)
    if row.in_force_at:
        refuse([Refusal("in-force", "It is in force already.")])
    if row.replaces_id:
        before = Interval.objects.select_for_update().get(pk=row.replaces_id)
        if before.withdrawn_at:
            refuse(
                [
                    Refusal(
                        "interval-withdrawn", "The rule that it replaces was withdrawn or replaced meanwhile."
                    )
                ]
            )
        _kept(by, before, "interval replaced", withdrawn_at=now())
    _kept(by, row, "interval put in force", in_force_at=now())


def withdraw(*, by: Person, row: Interval) -> None:
    """A locked rule counts no more."""
    require(by, Can.KEEP_PLANS)
    if not row.in_force_at:
        refuse([Refusal("only-proposed", "It is only proposed: set it aside instead.")])
    _kept(by, row, "interval withdrawn", withdrawn_at=now())


def follow(*, by: Person, place: str, follows: bool) -> None:
    """Follow the rules of a place, or no more."""
    require(by, Can.KEEP_PLANS)
    known = followed()
    found = []
    if not place:
        found.append(Refusal("no-place", "This rule has no place: it holds here anyhow."))
    elif (place in known) == follows:
        said = f"The rules of {place} are {'followed already' if follows else 'not followed'}."
        found.append(Refusal("place-stands", said))
    refuse(found)
    places = sorted({*known, place}) if follows else [each for each in known if each != place]
    set_places(places=places)
    facts = {"place": place, "followed": follows}
    write(subject="workshop", by=str(by.uid), verb="settings changed", facts=facts)


def _kept(by: Person, row: Interval, verb: str, **changes: Any) -> Interval:
    for name, value in changes.items():
        setattr(row, name, value)
    row.version += 1
    row.save()
    _tell(by, row, verb)
    return row


def _tell(by: Person, row: Interval, verb: str) -> None:
    names = (
        "place", "document", "edition", "section", "clock", "kind", "specification", "material", "use", "oxygen_above",
        "months", "dives", "hours", "grace_days", "anchor", "month_end", "source", "status", "version",
    )  # fmt: skip
    facts = {name: getattr(row, name) for name in names}
    facts["model"] = str(row.model.uid) if row.model else ""
    write(subject=f"interval:{row.uid}", by=str(by.uid), verb=verb, facts=facts)
