"""Give an item its number."""

from django.db import transaction

from shop.catalogue.models import Model
from shop.customers.models import Customer
from shop.gear.models import Identifier, Item
from shop.gear.reads import thing
from shop.journal.actions import write
from shop.search.actions import put
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import next_number


def add_item(*, by: Person, owner: Customer, model: Model, serial: str, owners_mark: str) -> Item:
    """Add an item; an empty serial is kept as unreadable."""
    require(by, Can.KEEP_GEAR)
    with transaction.atomic():
        item = Item.objects.create(number=next_number("item"), model=model, owner=owner)
        marks = [Identifier(item=item, kind=Identifier.SERIAL, value=serial)]
        if not serial:
            marks[0].state = Identifier.UNREADABLE
        if owners_mark:
            marks.append(Identifier(item=item, kind=Identifier.OWNERS_MARK, value=owners_mark))
        Identifier.objects.bulk_create(marks)
        put(thing=thing(item))
        facts = {"number": item.label, "model": str(model.uid), "owner": str(owner.uid)}
        words = {"serial": serial, "owners_mark": owners_mark}
        write(subject=f"item:{item.uid}", by=str(by.uid), verb="added", facts=facts, words=words)
    return item
