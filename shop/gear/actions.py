"""Give an item its number."""

from django.db import transaction

from shop.catalogue.models import Model
from shop.customers.models import Customer
from shop.files.actions import keep_photograph
from shop.files.models import Photograph
from shop.files.reads import Picture
from shop.gear.models import Identifier, Item
from shop.journal.actions import write
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
        facts = {"number": item.label, "model": str(model.uid), "owner": str(owner.uid)}
        words = {"serial": serial, "owners_mark": owners_mark}
        write(subject=f"item:{item.uid}", by=str(by.uid), verb="added", facts=facts, words=words)
    return item


def photograph_item(*, by: Person, item: Item, photograph: Picture, words: str) -> Photograph:
    """Keep a photograph of an item."""
    require(by, Can.KEEP_GEAR)
    subject = f"item:{item.uid}"
    with transaction.atomic():
        Item.objects.select_for_update().get(pk=item.pk)
        row = keep_photograph(by=str(by.uid), subject=subject, picture=photograph, words=words)
        write(subject=subject, by=str(by.uid), verb="photographed", facts=row.facts)
    return row
