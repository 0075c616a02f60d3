"""Give an item its number, its marks, its owner; merge and split items; photograph one."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from django.utils.module_loading import import_string

from shop.catalogue.models import Model
from shop.customers.actions import merge_customers
from shop.customers.models import Customer
from shop.files.actions import keep_photograph, point_out
from shop.files.models import Photograph, Spot
from shop.files.reads import Picture
from shop.gear.models import GearSet, Identifier, Item, Member
from shop.gear.reads import found_as, thing
from shop.gear.rules import FOR_GOOD, Standing, standing_refusals
from shop.journal.actions import write
from shop.search.actions import forget, forget_all, put, put_all
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import next_number, next_numbers
from shop.workshop.reads import today
from shop.workshop.rules import Refusal, Stale, merge_refusals, merged_refusals, refuse


def add_item(*, by: Person, owner: Customer, model: Model, serial: str, owners_mark: str) -> Item:
    """Add an item; an empty serial is kept as unreadable."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        owner = Customer.objects.select_for_update().get(pk=owner.pk)
        refuse(merged_refusals(owner, "owner"))
        item = Item.objects.create(number=next_number("item"), model=model, owner=owner)
        Identifier.of(item, Identifier.SERIAL, serial).save()
        if owners_mark:
            Identifier.of(item, Identifier.OWNERS_MARK, owners_mark).save()
        put(thing=thing(item))
        facts = {"number": item.label, "model": str(model.uid), "owner": str(owner.uid)}
        _tell(by, item, "added", facts, serial=serial, owners_mark=owners_mark)
    return item


def add_items(*, rows: list[dict[str, Any]]) -> list[Item]:
    """Add many items at once, as `add_customers` adds customers; the caller has locked their owners."""
    made, marks = [], list[list[Identifier]]()
    for number, row in zip(next_numbers("item", len(rows)), rows, strict=True):
        made.append(Item(number=number, model=row["model"], owner=row["owner"]))
        marks.append([Identifier.of(made[-1], kind, value) for kind, value in row["marks"]])
    Item.objects.bulk_create(made)
    Identifier.objects.bulk_create([mark for own in marks for mark in own])
    put_all(things=[found_as(item, own, []) for item, own in zip(made, marks, strict=True)])
    _look(made)
    return made


def take_back_items(*, items: list[Item]) -> None:
    """Take away what was brought in, with its marks, when nothing else refers to it, as the caller made sure."""
    Item.objects.filter(pk__in=[each.pk for each in items]).delete()
    forget_all(subjects=[f"item:{each.uid}" for each in items])


def _locked(item: Item, seen: int | None = None) -> Item:
    """The item's row, locked and fresh; Stale when the caller saw another version, refused when it was merged."""
    row = Item.objects.select_for_update().get(pk=item.pk)
    if seen is not None and row.version != seen:
        raise Stale(row.version)
    refuse(merged_refusals(row))
    return row


def _changed(by: Person, item: Item, verb: str, facts: dict[str, Any], **words: str) -> None:
    """A change of an item that is worked with is found at once; what was merged away is found no more."""
    item.version += 1
    item.save()
    if item.merged_into_id:
        forget(subject=f"item:{item.uid}")
    else:
        put(thing=thing(item))
    _tell(by, item, verb, facts, **words)


def _tell(by: Person, item: Item, verb: str, facts: dict[str, Any], **words: str) -> None:
    write(subject=f"item:{item.uid}", by=str(by.uid), verb=verb, facts=facts, words=words)
    _look([item])


def _look(items: Sequence[Item]) -> None:
    """Let the rooms above see items that were added or changed, in the same transaction."""
    for name in settings.AFTER_GEAR:
        import_string(name)(items=items)


def add_identifier(*, by: Person, item: Item, seen: int, kind: str, value: str) -> Item:
    """One more mark on an item; an empty value is kept as unreadable."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = _locked(item, seen)
        if Identifier.objects.filter(item=item, kind=kind, value=value).exists():
            refuse([Refusal("mark-stands", "This mark stands on the item already.", "value")])
        row = Identifier.of(item, kind, value)
        row.save()
        _changed(by, item, "mark added", {"kind": kind, "state": row.state}, value=value)
    return item


def mark_identifier(*, by: Person, identifier: Identifier, seen: int, state: str) -> Item:
    """Call a mark read, unreadable or disputed; what was read stays beside it."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = _locked(identifier.item, seen)
        row = Identifier.objects.get(pk=identifier.pk)
        if state != Identifier.UNREADABLE and not row.value:
            refuse([Refusal("nothing-read", "Nothing was read of it. Add it as it reads now.", "state")])
        before, row.state = row.state, state
        row.save(update_fields=["state"])
        facts = {"kind": row.kind, "before": before, "state": state}
        _changed(by, item, "mark judged", facts, value=row.value)
    return item


def state_gas(*, by: Person, item: Item, seen: int, oxygen: int | None) -> Item:
    """State the most oxygen in the gas that an item is used with, in tenths of a percent; None takes the statement back."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = _locked(item, seen)
        before, item.oxygen = item.used_with, oxygen
        _changed(by, item, "gas stated", {"oxygen": item.used_with, "before": before})
    return item


def state_facts(*, by: Person, item: Item, seen: int, **facts: Any) -> Item:
    """State what an item is made to and of, what it is used for, its first days: rules for intervals go by it."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = _locked(item, seen)
        for name, value in facts.items():
            setattr(item, name, value)
        _changed(by, item, "facts stated", {name: str(value) for name, value in item.facts.items()})
    return item


def say_standing(*, by: Person, item: Item, seen: int, standing: str) -> Item:
    """Say what became of an item: put away, sold, lost, condemned, or in use again."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = _locked(item, seen)
        refuse(standing_refusals(item.standing, standing))
        _stand(by, item, standing)
    return item


def found_beyond(*, by: Person, item: Item, standing: str) -> None:
    """A round of work on an item that the caller has locked found it condemned or beyond repair, or took that back."""
    if item.standing != standing and (standing in FOR_GOOD or item.standing in FOR_GOOD):
        _stand(by, item, standing)


def here_again(*, by: Person, item: Item) -> None:
    """An item that was put away, sold or lost is put on the counter; the caller has locked it."""
    if item.standing not in (Standing.IN_USE, *FOR_GOOD):
        _stand(by, _locked(item), Standing.IN_USE)


def _stand(by: Person, item: Item, standing: str) -> None:
    before, item.standing = item.standing, standing
    _changed(by, item, "standing said", {"standing": str(standing), "before": before})


def change_owner(*, by: Person, item: Item, seen: int, owner: Customer) -> Item:
    """An item passes to another owner; jobs and drop-offs stay with whoever brought it."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        both = Customer.objects.filter(pk__in=[item.owner_id, owner.pk])
        rows = {row.pk: row for row in both.select_for_update().order_by("pk")}
        row = _locked(item, seen)
        # The owner is among those that were locked: another one would have come with another version.
        before, owner = rows[item.owner_id], rows[owner.pk]
        if before.pk == owner.pk:
            refuse([Refusal("same-owner", f"{row.label} is theirs already.", "owner")])
        refuse(merged_refusals(owner, "owner"))
        row.owner = owner
        facts = {"item": str(row.uid), "before": str(before.uid), "owner": str(owner.uid)}
        _changed(by, row, "owner changed", facts)
        write(subject=f"customer:{before.uid}", by=str(by.uid), verb="item passed on", facts=facts)
        write(subject=f"customer:{owner.uid}", by=str(by.uid), verb="item taken over", facts=facts)
    return row


def merge_owners(*, by: Person, keep: Customer, lose: Customer, seen: int) -> Customer:
    """Merge a customer into another, with everything they own."""
    require(by, Can.KEEP_CUSTOMERS)
    with transaction.atomic():
        keep = merge_customers(by=by, keep=keep, lose=lose, seen=seen)
        for item in Item.objects.select_for_update().filter(owner=lose.pk).order_by("number"):
            item.owner = keep
            _changed(by, item, "owner changed", {"before": str(lose.uid), "owner": str(keep.uid)})
        GearSet.objects.filter(owner=lose.pk).update(owner=keep, version=F("version") + 1)
    return keep


def merge_items(*, by: Person, keep: Item, lose: Item, seen: int) -> Item:
    """Merge an item, which the caller saw at version `seen`, into another; a job room asks about open jobs first.

    The lost one stays as it is, to be read. Its marks are copied, so that the kept one is found under all of them.
    """
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        asked = Q(pk__in=[keep.pk, lose.pk]) | Q(merged_into=lose.pk)
        items = Item.objects.select_for_update(of=("self",)).filter(asked)
        items = items.select_related("model", "owner__merged_into")
        rows = {row.pk: row for row in items.order_by("number")}
        keep, lose = rows[keep.pk], rows[lose.pk]
        if lose.version != seen:
            raise Stale(lose.version)
        found = merge_refusals(keep, lose)
        if keep.model.kind != lose.model.kind:
            said = f"{lose.label} is a {lose.model.kind_label}, {keep.label} a {keep.model.kind_label}."
            found.append(Refusal("other-kind", said, "into"))
        mine, theirs = lose.owner.kept, keep.owner.kept
        if mine != theirs:
            said = (
                f"{lose.label} belongs to {mine.name}, {keep.label} to {theirs.name}: "
                "pass it on or merge the customers first."
            )
            found.append(Refusal("other-owner", said, "into"))
        refuse(found)
        known = set(keep.identifiers.values_list("kind", "value"))
        for mark in lose.identifiers.order_by("pk"):
            if (mark.kind, mark.value) not in known:
                Identifier(item=keep, kind=mark.kind, value=mark.value, state=mark.state).save()
        Item.objects.filter(merged_into=lose).update(merged_into=keep)
        _move_membership(keep, lose)
        shares = [each.oxygen for each in (keep, lose) if each.oxygen is not None]
        keep.oxygen = max(shares, default=None)
        _take_facts(keep, lose)
        facts = {"kept": str(keep.uid), "lost": str(lose.uid)}
        lose.merged_into = keep
        _changed(by, lose, "merged into another", facts)
        _changed(by, keep, "took another in", facts)
    return keep


def _take_facts(keep: Item, lose: Item) -> None:
    """What only the lost item says of itself is kept; what was condemned stays so."""
    for name, value in lose.facts.items():
        if not getattr(keep, name):
            setattr(keep, name, value)
    if lose.standing in FOR_GOOD and keep.standing not in FOR_GOOD:
        keep.standing = lose.standing


def _move_membership(keep: Item, lose: Item) -> None:
    """The lost item leaves its set today; the kept one takes its place there unless it is in a set already."""
    for row in Member.objects.select_for_update().filter(item=lose, to_day=None):
        row.to_day = max(today(), row.from_day)
        row.save(update_fields=["to_day"])
        if not Member.objects.filter(item=keep, to_day=None).exists():
            Member.objects.create(gear_set=row.gear_set, item=keep, from_day=row.to_day)
        GearSet.objects.filter(pk=row.gear_set_id).update(version=F("version") + 1)


def split_item(*, by: Person, item: Item, seen: int, identifiers: list[Identifier]) -> Item:
    """An item turned out to be two: the second gets a number of its own and the chosen marks; history stays."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = _locked(item, seen)
        chosen = Identifier.objects.filter(pk__in=[mark.pk for mark in identifiers], item=item)
        if chosen.count() != len({mark.pk for mark in identifiers}):
            refuse([Refusal("not-its-mark", f"One of these marks is not on {item.label}.", "identifiers")])
        number, owner = next_number("item"), item.owner
        given = {"model": item.model, "owner": owner, "oxygen": item.oxygen, "split_from": item, **item.facts}
        second = Item.objects.create(number=number, **given)
        facts = {"from": str(item.uid), "second": str(second.uid), "marks_moved": chosen.count()}
        chosen.update(item=second)
        put(thing=thing(second))
        _changed(by, item, "split", facts)
        _tell(by, second, "split off", facts)
    return second


def photograph_item(*, by: Person, item: Item, photograph: Picture, words: str) -> Photograph:
    """Keep a photograph of an item."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        subject = f"item:{_locked(item).uid}"
        return keep_photograph(
            by=str(by.uid), subject=subject, chain=subject, picture=photograph, words=words
        )


def point_at(*, by: Person, photograph: Photograph, shape: str, x: Decimal, y: Decimal, words: str) -> Spot:
    """Say where to look on a photograph, whatever it is of."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        row = Photograph.objects.select_for_update().get(pk=photograph.pk)
        at = {"across": int(x * 1000), "down": int(y * 1000)}
        return point_out(by=str(by.uid), photograph=row, shape=shape, words=words, **at)
