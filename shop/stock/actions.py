"""Add parts; receive lots; take from them.

A trigger adds each movement to what is on hand and a constraint keeps that from going below zero.
"""

from django.db import transaction

from shop.journal.actions import write
from shop.search.actions import put
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.models import Lot, Movement, Part
from shop.stock.reads import lot_thing, part_thing, why_not
from shop.stock.rules import cure_refusals, last_good_day, quarter_end
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, refuse


def add_part(
    *, by: Person, number: str, name: str, unit: str, material: str, life_months: int | None, life_source: str
) -> Part:
    """Add a part to the store."""
    require(by, Can.KEEP_STOCK)
    if life_months is not None and not life_source:
        refuse([Refusal("life-source", "Say by which rule this life is counted.", "life_source")])
    with transaction.atomic():
        rest = {"name": name, "unit": unit, "material": material, "life_months": life_months}
        row, made = Part.objects.get_or_create(number=number, defaults=rest | {"life_source": life_source})
        if not made:
            refuse([Refusal("number-taken", "Another part has this number.", "number")])
        put(thing=part_thing(row))
        write(subject=f"part:{row.uid}", by=str(by.uid), verb="added", facts={"number": number})
    return row


def receive(*, by: Person, part: Part, number: str, cured: str, quantity: int) -> Lot:
    """Receive a quantity of a lot; a lot that stands already grows, if it was cured in the same quarter."""
    require(by, Can.KEEP_STOCK)
    refuse(cure_refusals(cured, part.life_months, today()))
    day = quarter_end(cured)
    with transaction.atomic():
        part = Part.objects.select_for_update().get(pk=part.pk)
        good_to = last_good_day(day, part.life_months) if day else None
        lot, _ = Lot.objects.get_or_create(
            part=part, number=number, defaults={"cured": cured, "good_to": good_to}
        )
        if lot.good_to != good_to or quarter_end(lot.cured) != day:
            refuse(
                [Refusal("cure-differs", f"Lot {number} stands here with cure quarter {lot.cured}.", "cured")]
            )
        Movement.objects.create(lot=lot, verb=Movement.RECEIVE, quantity=quantity, at=now(), by=str(by.uid))
        facts = {"lot": str(lot.uid), "number": number, "quantity": quantity}
        write(subject=f"part:{part.uid}", by=str(by.uid), verb="received", facts=facts)
        lot.refresh_from_db()
        put(thing=lot_thing(lot))
    return lot


def take(*, by: Person, lot: Lot, quantity: int, wanted_part: str, subject: str) -> Movement:
    """Take a quantity of a lot for a subject, in the caller's transaction; the caller has required the right to work.

    `wanted_part` is the part number the plan asks for, or empty when any will do.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("Stock is taken in the transaction of the action only.")
    lot = Lot.objects.select_for_update(of=("self",)).select_related("part").get(pk=lot.pk)
    refuse(why_not(lot, quantity, wanted_part))
    return Movement.objects.create(
        lot=lot, verb=Movement.TAKE, quantity=-quantity, subject=subject, at=now(), by=str(by.uid)
    )


def use_up(*, by: Person, lot: Lot, quantity: int, subject: str) -> Lot:
    """Take a quantity from the store for something other than a job's tray."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        Part.objects.select_for_update().get(pk=lot.part_id)
        movement = take(by=by, lot=lot, quantity=quantity, wanted_part="", subject=f"use:{subject}")
        facts = {"lot": str(lot.uid), "quantity": quantity}
        words = {"for": subject}
        write(subject=f"part:{lot.part.uid}", by=str(by.uid), verb="taken", facts=facts, words=words)
    return Lot.objects.select_related("part").get(pk=movement.lot_id)
