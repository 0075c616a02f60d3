"""Draft, send, receive and close orders; the supplier is locked before their orders."""

from collections.abc import Sequence
from datetime import date

from django.db import transaction

from shop.journal.actions import write
from shop.orders.models import DraftLine, Line, Order, Receipt
from shop.orders.reads import came_of, letter_of, order_thing, sheet
from shop.orders.rules import (
    How,
    State,
    changing_refusals,
    closing_refusals,
    cost_of,
    draft_refusals,
    expected,
    receiving_refusals,
    sending_refusals,
    taking_back_refusals,
)
from shop.post.actions import write_letters
from shop.search.actions import put_all
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.actions import receive, take_back
from shop.stock.models import Bin, Lot, Movement, Part, Stored
from shop.suppliers.actions import locked
from shop.suppliers.models import Offer, Supplier
from shop.workshop.actions import next_number
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, Stale, refuse


def draft_order(*, by: Person, supplier: Supplier, lines: Sequence[tuple[Offer, int]]) -> Order:
    """Put so many packs of each offer on the supplier's draft, which begins where there is none.

    An offer that stands there already has so many packs afterwards, not so many more: to ask twice orders once.
    """
    require(by, Can.KEEP_STOCK)
    numbers = [offer.part.number for offer, _ in lines]
    others = [offer.part.number for offer, _ in lines if offer.supplier_id != supplier.pk]
    refuse(draft_refusals(numbers, elsewhere=others))
    with transaction.atomic():
        locked(supplier)
        order = Order.objects.select_for_update().filter(supplier=supplier, state=State.DRAFT).first()
        if order is None:
            order = Order.objects.create(supplier=supplier, number=next_number("order"))
            put_all(things=[order_thing(order)])
        for offer, packs in lines:
            DraftLine.objects.update_or_create(order=order, offer=offer, defaults={"packs": packs})
        order.changes += 1
        order.save(update_fields=["changes"])
        facts = {"supplier": str(supplier.uid), "number": order.number}
        facts |= {f"packs of {offer.uid}": packs for offer, packs in lines}
        write(subject=f"order:{order.uid}", by=str(by.uid), verb="drafted", facts=facts)
    return order


def take_off(*, by: Person, line: DraftLine) -> Order:
    """Take a line off a draft."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        locked(line.order.supplier)
        order = Order.objects.select_for_update().get(pk=line.order_id)
        refuse(changing_refusals(order.state))
        if not DraftLine.objects.filter(pk=line.pk).delete()[0]:
            refuse([Refusal("line-gone", "Somebody took this line off already.")])
        order.changes += 1
        order.save(update_fields=["changes"])
        facts = {"offer": str(line.offer.uid), "packs": line.packs}
        write(subject=f"order:{order.uid}", by=str(by.uid), verb="line taken off", facts=facts)
    return order


def send_order(*, by: Person, order: Order, seen: int, how: str) -> Order:
    """Send a draft that the caller saw at version `seen`, or say that it was telephoned or printed; its lines are then frozen."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        supplier = locked(order.supplier)
        row = Order.objects.select_for_update(of=("self",)).select_related("supplier").get(pk=order.pk)
        if row.state == State.DRAFT and row.version != seen:
            raise Stale(row.version)
        wishes = list(row.draft_lines.select_related("offer__part"))
        refuse(sending_refusals(row.state, how, lines=len(wishes), email=supplier.email))
        Line.objects.bulk_create(
            Line(
                order=row,
                part=each.offer.part,
                number=each.offer.number,
                packs=each.packs,
                pack_size=each.offer.pack_size,
                price=each.offer.price,
            )
            for each in wishes
        )
        row.draft_lines.all().delete()
        row.state, row.how, row.sent_at, row.sent_by = State.SENT.value, how, now(), by
        row.expected_on, row.changes = expected(today(), supplier.lead_days), row.changes + 1
        row.save(update_fields=["state", "how", "sent_at", "sent_by", "expected_on", "changes"])
        facts: dict[str, object] = {"how": how, "lines": len(wishes)}
        if how == How.E_MAIL:
            facts["letters"] = [str(each.uid) for each in write_letters(drafts=[letter_of(row)]) if each]
        write(subject=f"order:{row.uid}", by=str(by.uid), verb="sent", facts=facts)
    return row


def receive_line(
    *,
    by: Person,
    line: Line,
    number: str,
    cured: str,
    quantity: int,
    use_by: date | None = None,
    bin: Bin | None = None,
    cost: int | None = None,
    effective_on: date | None = None,
    more: bool = False,
) -> Lot:
    """Receive pieces of a line into a lot; `more`: it was seen that they are more than were missing.

    Where no cost is said it follows from the price on the order. Once everything came the order closes.
    """
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        order = Order.objects.select_for_update().get(pk=line.order_id)
        came = came_of(line)
        missing = max(0, line.packs * line.pack_size - came)
        refuse(
            receiving_refusals(
                order.state, quantity=quantity, missing=missing, more=more, unit=line.part.unit
            )
        )
        if cost is None:
            cost = cost_of(came, quantity, line.pack_size, line.price)
        subject = f"order:{line.uid}"
        lot = receive(
            by=by,
            part=line.part,
            number=number,
            cured=cured,
            quantity=quantity,
            use_by=use_by,
            bin=bin,
            cost=cost,
            effective_on=effective_on,
            subject=subject,
        )
        # The order is locked, so nobody else writes a movement for this line meanwhile.
        Receipt.objects.create(line=line, movement=lot.movements.filter(subject=subject).latest("pk"))
        facts: dict[str, object] = {"line": str(line.uid), "lot": str(lot.uid)}
        facts |= {"quantity": quantity, "more": more}
        write(subject=f"order:{order.uid}", by=str(by.uid), verb="received", facts=facts)
        if any(each.missing for each in sheet(order).rows):
            order.changes += 1
            order.save(update_fields=["changes"])
        else:
            _close(by, order, "")
    return lot


def take_back_receipt(*, by: Person, receipt: Receipt, reason: str) -> Order:
    """Take back a receipt that was wrong; an order that had closed by itself then waits for its pieces again."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        order = Order.objects.select_for_update().get(pk=receipt.line.order_id)
        part = Part.objects.select_for_update().get(pk=receipt.line.part_id)
        row = Movement.objects.select_related("bin").get(pk=receipt.movement_id)
        row.lot = lot = Lot.objects.select_for_update().get(pk=row.lot_id)
        there = Stored.objects.filter(lot=lot, bin=row.bin).values_list("on_hand", flat=True).first() or 0
        before = Movement.objects.filter(takes_back=row).exists()
        given = {"quantity": row.quantity, "on_hand": lot.on_hand, "there": there}
        refuse(taking_back_refusals(lot.number, str(row.bin), **given, unit=part.unit, before=before))
        take_back(by=by, receipt=row, reason=reason)
        facts = {"line": str(receipt.line.uid), "lot": str(lot.uid), "quantity": row.quantity}
        words = {"for": reason}
        for subject in (f"part:{part.uid}", f"order:{order.uid}"):
            write(subject=subject, by=str(by.uid), verb="receipt taken back", facts=facts, words=words)
        if order.state == State.CLOSED and not order.reason:
            order.state, order.closed_at, order.closed_by = State.SENT.value, None, None
        order.changes += 1
        order.save(update_fields=["state", "closed_at", "closed_by", "changes"])
    return order


def find_again(*, supplier: Supplier) -> None:
    """The orders of a supplier are found by the name that it has now; in the caller's transaction."""
    put_all(things=[order_thing(row) for row in supplier.orders.select_related("supplier")])


def close_order(*, by: Person, order: Order, reason: str) -> Order:
    """Close an order of which not everything came, and say why no more is waited for."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        row = Order.objects.select_for_update().get(pk=order.pk)
        refuse(closing_refusals(row.state))
        _close(by, row, reason)
    return row


def _close(by: Person, order: Order, reason: str) -> None:
    order.state, order.closed_at, order.closed_by, order.reason = State.CLOSED.value, now(), by, reason
    order.changes += 1
    order.save(update_fields=["state", "closed_at", "closed_by", "reason", "changes"])
    words = {"for": reason}
    write(subject=f"order:{order.uid}", by=str(by.uid), verb="closed", facts={}, words=words)
