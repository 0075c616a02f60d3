"""Begin a count of a bin, enter numbers, book what differs or set the count aside."""

from django.db import transaction

from shop.counts.models import Count, Line
from shop.counts.reads import judged, sheet
from shop.counts.rules import booking_refusals, closed, counting_refusals
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.actions import book_count
from shop.stock.models import Bin, Lot, Part, Stored
from shop.workshop.reads import now
from shop.workshop.rules import refuse


def begin_count(*, by: Person, bin: Bin) -> Count:
    """Begin to count a bin, or join whoever counts it already; whoever may open a kit may count."""
    require(by, Can.OPEN_KIT)
    with transaction.atomic():
        Bin.objects.select_for_update().get(pk=bin.pk)
        row = Count.objects.filter(bin=bin, closed_at=None).first()
        if row is None:
            row = Count.objects.create(bin=bin, begun_at=now(), begun_by=by)
            write(subject=f"bin:{bin.uid}", by=str(by.uid), verb="count begun", facts={"count": str(row.uid)})
    return row


def enter(*, by: Person, count: Count, lot: Lot, counted: int, alone: bool) -> Line:
    """Enter how many of a lot lie in the bin; what is on hand at this instant is kept with it."""
    require(by, Can.OPEN_KIT)
    with transaction.atomic():
        count = Count.objects.select_for_update(of=("self",)).select_related("bin").get(pk=count.pk)
        Lot.objects.select_for_update().get(pk=lot.pk)
        before = list(count.lines.filter(lot=lot))
        lines = judged(before)
        refuse(counting_refusals(lines, open=count.closed_at is None, by=by.pk, alone=alone))
        there = Stored.objects.filter(lot=lot, bin=count.bin_id).values_list("on_hand", flat=True).first()
        same = bool(lines) and lines[0].by == by.pk
        row = Line.objects.create(
            count=count, lot=lot, n=len(lines) + 1, counted=counted, there=there or 0, alone=same, at=now(), by=by
        )  # fmt: skip
        facts = {"count": str(count.uid), "lot": str(lot.uid), "n": row.n, "counted": counted}
        facts |= {"there": row.there, "alone": same}
        write(subject=f"bin:{count.bin.uid}", by=str(by.uid), verb="counted", facts=facts)
    return row


def book(*, by: Person, count: Count, reason: str) -> Count:
    """Book what differs of each lot, as a difference: what was taken since it was counted stays taken."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        count = Count.objects.select_for_update(of=("self",)).select_related("bin").get(pk=count.pk)
        pks = {row.lot.pk for row in sheet(count)}
        list(Part.objects.select_for_update().filter(lots__in=pks).order_by("pk"))
        list(Lot.objects.select_for_update().filter(pk__in=pks).order_by("pk"))
        rows = sheet(count)
        left = dict(Stored.objects.filter(bin=count.bin_id).values_list("lot", "on_hand"))
        names = {row.lot.pk: f"{row.lot.number} of {row.lot.part.number}" for row in rows}
        refuse(
            booking_refusals(
                {names[row.lot.pk]: judged(row.lines) for row in rows},
                {name: left.get(pk, 0) for pk, name in names.items()},
                open=count.closed_at is None,
            )
        )
        for row in rows:
            book_count(by=by, lot=row.lot, place=count.bin, difference=row.difference or 0, reason=reason)
        return _close(by, count, reason, booked=True)


def set_aside(*, by: Person, count: Count, reason: str) -> Count:
    """Close a count without booking anything; its numbers stay."""
    require(by, Can.KEEP_STOCK)
    with transaction.atomic():
        count = Count.objects.select_for_update(of=("self",)).select_related("bin").get(pk=count.pk)
        refuse([closed()] if count.closed_at else [])
        return _close(by, count, reason, booked=False)


def _close(by: Person, count: Count, reason: str, *, booked: bool) -> Count:
    count.closed_at, count.closed_by, count.booked, count.reason = now(), by, booked, reason
    count.save(update_fields=["closed_at", "closed_by", "booked", "reason"])
    verb, facts = "count booked" if booked else "count set aside", {"count": str(count.uid)}
    write(subject=f"bin:{count.bin.uid}", by=str(by.uid), verb=verb, facts=facts, words={"for": reason})
    return count
