"""Hand gear back to a named collector."""

from django.db import transaction

from jobs.advance.actions import carry
from jobs.flow.actions import hand_over, locked
from jobs.flow.models import DropOff, Job
from jobs.flow.rules import Leg, Where
from jobs.handback.models import HandBack
from jobs.handback.rules import Ready, hand_back_refusals
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Stale, refuse


def hand_back(
    *, by: Person, drop_off: DropOff, seen: int, collector: str, items: list[str], acknowledged: bool
) -> HandBack:
    """Hand the scanned items of a drop-off back; a part collection leaves the rest here."""
    require(by, Can.HAND_BACK)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=drop_off.pk)
        if drop_off.version != seen:
            raise Stale(drop_off.version)
        rows = Job.objects.filter(drop_off=drop_off).select_related("item", "line__drop_off").order_by("pk")
        here = list(rows.prefetch_related("item__identifiers", "rounds"))
        items = _numbers(items, here)
        jobs = {job.item.label: locked(job) if job.item.label in items else job for job in here}
        ready = {number: Ready(number, job.leg, job.outcome) for number, job in jobs.items()}
        refuse(hand_back_refusals(ready, items, acknowledged=acknowledged))
        row = HandBack.objects.create(
            drop_off=drop_off, collector=collector, acknowledged=acknowledged, at=now(), by=by
        )
        for number in items:
            carry(by=by, job=jobs[number], to=Leg.HANDED_BACK)
            hand_over(
                by=by,
                line=jobs[number].line,
                where=Where.GONE,
                holder=f"the collector of hand-back {row.uid}",
            )
        row.jobs.set(jobs[number] for number in items)
        drop_off.version += 1
        drop_off.save(update_fields=["version"])
        facts = {"hand_back": str(row.uid), "items": sorted(items), "acknowledged": acknowledged}
        words = {"collector": collector}
        write(
            subject=f"drop-off:{drop_off.uid}", by=str(by.uid), verb="handed back", facts=facts, words=words
        )
    return row


def _numbers(scanned: list[str], here: list[Job]) -> list[str]:
    """Item numbers for what was scanned: the item's number, its bag's tag, or a mark on it alone; others stay."""
    ours: dict[str, str] = {}
    marked: dict[str, set[str]] = {}
    for job in here:
        label = job.item.label
        ours |= dict.fromkeys([label, f"E-{job.item.number}", job.line.tag], label)
        for mark in job.item.identifiers.all():
            marked.setdefault(mark.value.upper(), set()).add(label)
    known = {text: min(labels) for text, labels in marked.items() if len(labels) == 1} | ours
    return [known.get(text.strip().upper(), text.strip().upper()) for text in scanned]
