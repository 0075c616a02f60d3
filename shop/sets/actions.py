"""Make sets of gear; put items in and take them out."""

from collections.abc import Sequence

from django.db import transaction

from shop.customers.models import Customer
from shop.gear.models import GearSet, Item, Member
from shop.journal.actions import write
from shop.sets.rules import In, member_refusals
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import today
from shop.workshop.rules import Refusal, Stale, merged_refusals, refuse


def make_set(*, by: Person, owner: Customer, name: str, items: Sequence[Item]) -> GearSet:
    """Say which items of a customer belong together from today."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        owner = Customer.objects.select_for_update().get(pk=owner.pk)
        rows = _locked(items)
        refuse(
            [
                *merged_refusals(owner, "owner"),
                *member_refusals(owner.name, [_seen(row, owner) for row in rows]),
            ]
        )
        row = GearSet.objects.create(name=name, owner=owner)
        for item in rows:
            Member.objects.create(gear_set=row, item=item, from_day=today())
        facts = {"owner": str(owner.uid), "items": [str(item.uid) for item in rows]}
        write(subject=f"set:{row.uid}", by=str(by.uid), verb="made", facts=facts, words={"name": name})
    return row


def put_in(*, by: Person, gear_set: GearSet, seen: int, item: Item) -> GearSet:
    """Put one more item into a set from today."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        row = _open(gear_set, seen)
        (item,) = _locked([item])
        refuse(member_refusals(row.owner.name, [_seen(item, row.owner)]))
        Member.objects.create(gear_set=row, item=item, from_day=today())
        return _changed(by, row, "put in", item)


def take_out(*, by: Person, gear_set: GearSet, seen: int, item: Item) -> GearSet:
    """Take an item out of its set; that it belonged there until today stays."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        row = _open(gear_set, seen)
        if not Member.objects.filter(gear_set=row, item=item, to_day=None).update(to_day=today()):
            refuse([Refusal("not-in-set", f"{item.label} does not belong to this set now.", "item")])
        return _changed(by, row, "taken out", item)


def _locked(items: Sequence[Item]) -> list[Item]:
    keys = [item.pk for item in items]
    return list(Item.objects.filter(pk__in=keys).select_for_update(of=("self",)).order_by("pk"))


def _seen(item: Item, owner: Customer) -> In:
    taken = Member.objects.filter(item=item, to_day=None).select_related("gear_set").first()
    return In(
        item.label,
        item.owner_id == owner.pk,
        taken.gear_set.name if taken else "",
        item.merged_into_id is not None,
    )


def _open(gear_set: GearSet, seen: int) -> GearSet:
    row = GearSet.objects.select_for_update(of=("self",)).select_related("owner").get(pk=gear_set.pk)
    if row.version != seen:
        raise Stale(row.version)
    return row


def _changed(by: Person, row: GearSet, verb: str, item: Item) -> GearSet:
    row.version += 1
    row.save(update_fields=["version"])
    write(subject=f"set:{row.uid}", by=str(by.uid), verb=verb, facts={"item": str(item.uid)})
    return row
