"""Add and change suppliers, and what they sell."""

from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils.module_loading import import_string

from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Part
from shop.suppliers.models import Offer, Supplier
from shop.workshop.rules import Refusal, Stale, refuse


def add_supplier(*, by: Person, name: str, email: str, lead_days: int | None) -> Supplier:
    """Add somebody from whom parts are ordered."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        refuse(_name_refusals(name, None))
        row = Supplier.objects.create(name=name, email=email, lead_days=lead_days)
        facts = {"supplier": str(row.uid), "lead_days": lead_days}
        write(subject=f"supplier:{row.uid}", by=str(by.uid), verb="added", facts=facts)
    return row


def change_supplier(
    *, by: Person, supplier: Supplier, seen: int, name: str, email: str, lead_days: int | None
) -> Supplier:
    """Change what is known of a supplier, which the caller saw at version `seen`."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        row = locked(supplier)
        if row.version != seen:
            raise Stale(row.version)
        refuse(_name_refusals(name, row))
        row.name, row.email, row.lead_days, row.version = name, email, lead_days, row.version + 1
        row.save(update_fields=["name", "email", "lead_days", "version"])
        for hook in settings.AFTER_SUPPLIER_CHANGED:
            import_string(hook)(supplier=row)
        facts = {"lead_days": lead_days, "version": row.version}
        write(subject=f"supplier:{row.uid}", by=str(by.uid), verb="changed", facts=facts)
    return row


def _name_refusals(name: str, own: Supplier | None) -> list[Refusal]:
    taken = Supplier.objects.filter(name=name).exclude(pk=own.pk if own else 0).exists()
    return [Refusal("name-taken", "There is a supplier of this name.", "name")] if taken else []


def locked(supplier: Supplier) -> Supplier:
    """A supplier, fresh, whom nobody else changes or orders from until the transaction ends."""
    return Supplier.objects.select_for_update().get(pk=supplier.pk)


def add_offer(
    *, by: Person, part: Part, supplier: Supplier, number: str, pack_size: int, price: int | None
) -> Offer:
    """Say that a supplier sells a part: under which number, in packs of how many, and for how much a pack."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        locked(supplier)
        if Offer.objects.filter(part=part, supplier=supplier).exists():
            said = f"{supplier} offers {part.number} already: change that offer."
            refuse([Refusal("offer-taken", said, "supplier")])
        row = Offer.objects.create(
            part=part, supplier=supplier, number=number, pack_size=pack_size, price=price
        )
        write(subject=f"supplier:{supplier.uid}", by=str(by.uid), verb="offer added", facts=_told(row))
    return row


def change_offer(
    *, by: Person, offer: Offer, seen: int, number: str, pack_size: int, price: int | None
) -> Offer:
    """Change an offer, which the caller saw at version `seen`; what was sent keeps the pack and price of its day."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        supplier = locked(offer.supplier)
        row = Offer.objects.select_for_update(of=("self",)).select_related("part").get(pk=offer.pk)
        if row.version != seen:
            raise Stale(row.version)
        row.number, row.pack_size, row.price, row.version = number, pack_size, price, row.version + 1
        row.save(update_fields=["number", "pack_size", "price", "version"])
        supplier.version += 1  # a draft of theirs says something else now
        supplier.save(update_fields=["version"])
        facts = _told(row) | {"version": row.version}
        write(subject=f"supplier:{supplier.uid}", by=str(by.uid), verb="offer changed", facts=facts)
    return row


def _told(row: Offer) -> dict[str, Any]:
    told = {"offer": str(row.uid), "part": str(row.part.uid), "number": row.number}
    return told | {"pack_size": row.pack_size, "price": row.price}
