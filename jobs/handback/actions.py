"""Hand gear back to a named collector; ask for what is not collected; dispose of what nobody comes for."""

from django.db import transaction

from jobs.advance.actions import carry
from jobs.flow.actions import hand_over, locked
from jobs.flow.models import DropOff, Job, Line
from jobs.flow.reads import evidence_refusals, held
from jobs.flow.rules import Leg, Outcome, Where, held_refusals
from jobs.handback.models import Asked, Disposal, HandBack
from jobs.handback.reads import numbers, ready
from jobs.handback.rules import disposal_refusals, hand_back_refusals
from jobs.matches.actions import asked_again
from jobs.notices.reads import open_doubts
from shop.journal.actions import write
from shop.post.actions import write_letters
from shop.post.rules import Purpose
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.wording.reads import letters
from shop.wording.rules import Key
from shop.workshop.reads import now, today, workshop
from shop.workshop.rules import Refusal, Stale, refuse


def hand_back(
    *,
    by: Person,
    drop_off: DropOff,
    seen: int,
    collector: str,
    items: list[str],
    acknowledged: bool,
    apart: str = "",
) -> HandBack:
    """Hand the scanned items of a drop-off back; a part collection leaves the rest here."""
    require(by, Can.HAND_BACK)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=drop_off.pk)
        if drop_off.version != seen:
            raise Stale(drop_off.version)
        rows = Job.objects.filter(drop_off=drop_off).select_related("item__model", "line__drop_off")
        here = list(rows.prefetch_related("item__identifiers", "rounds").order_by("pk"))
        bare = list(Line.objects.filter(drop_off=drop_off, job=None).select_related("drop_off").order_by("n"))
        items = numbers(items, here, bare)
        jobs = {job.item.label: locked(job) if job.item.label in items else job for job in here}
        lines = {line.tag: line for line in bare}
        doubted = [
            Refusal(each.code, f"{number}: {each.sentence}", "items")
            for number in dict.fromkeys(items)
            if number in jobs
            for each in _doubted(jobs[number])
        ]
        # What left by mistake and came back leaves without a move, so its holds are asked for here.
        again = [jobs[number] for number in items if number in jobs and jobs[number].leg == Leg.HANDED_BACK]
        stopped = [each for job in again for each in held_refusals(held(job), Leg.HANDED_BACK)]
        stopped += evidence_refusals(row.item_id for row in bare if row.tag in items and row.item_id)
        found = hand_back_refusals(ready(jobs, bare), items, acknowledged=acknowledged, apart=apart)
        refuse([*found, *stopped, *doubted])
        row = HandBack.objects.create(
            drop_off=drop_off, collector=collector, acknowledged=acknowledged, at=now(), by=by
        )
        for number in items:
            if number in jobs and jobs[number].leg == Leg.SIGNED_OFF:
                carry(by=by, job=jobs[number], to=Leg.HANDED_BACK)
            line = jobs[number].line if number in jobs else lines[number]
            hand_over(by=by, line=line, where=Where.GONE, holder="its collector")
        row.jobs.set(jobs[number] for number in items if number in jobs)
        row.lines.set(lines[number] for number in items if number in lines)
        _changed(drop_off)
        facts = {"hand_back": str(row.uid), "items": sorted(items), "acknowledged": acknowledged}
        words = {"collector": collector} | ({"apart": apart} if apart else {})
        write(
            subject=f"drop-off:{drop_off.uid}", by=str(by.uid), verb="handed back", facts=facts, words=words
        )
    return row


def _doubted(job: Job) -> list[Refusal]:
    """The doubts and notices that a job does not leave with."""
    serviced = job.outcome == Outcome.SERVICED
    return [*open_doubts(job), *asked_again(item=job.item.kept, serviced=serviced)]


def _changed(drop_off: DropOff) -> None:
    drop_off.version += 1
    drop_off.save(update_fields=["version"])


def ask_to_collect(*, by: Person, drop_off: DropOff, how: str) -> Asked:
    """Ask the customer to collect what is ready: an e-mail is written, a paper letter or a call is recorded.

    Of what is stopped, by a hold, a doubt or a notice, nothing is said; where that is all, nobody is asked.
    """
    require(by, Can.HAND_BACK)
    with transaction.atomic():
        drop_off = (
            DropOff.objects.select_for_update(of=("self",))
            .select_related("customer__merged_into")
            .get(pk=drop_off.pk)
        )
        rows = Job.objects.filter(drop_off=drop_off, leg=Leg.SIGNED_OFF).select_related("item__model")
        day, customer = today(), drop_off.customer.kept
        items, stopped = [], []
        for job in rows.prefetch_related("rounds").order_by("pk"):
            stops = [*held_refusals(held(job), Leg.HANDED_BACK), *_doubted(job)]
            stopped += [Refusal(each.code, f"{job.item.label}: {each.sentence}") for each in stops]
            if not stops:
                items.append(f"{job.item.title_in(customer.language)}, {job.item.label}")
        nothing = Refusal("nothing-ready", "Nothing of this drop-off is ready to collect.")
        found = [] if items else [*stopped, nothing]
        if how == Asked.EMAIL and not customer.email:
            found.append(Refusal("no-address", f"{customer.name} has no e-mail address on record.", "how"))
        if Asked.objects.filter(drop_off=drop_off, how=how, on=day).exists():
            found.append(Refusal("asked-today", f"The customer was asked by {how} today.", "how"))
        refuse(found)
        row = Asked.objects.create(drop_off=drop_off, how=how, on=day, at=now(), by=by)
        if how == Asked.EMAIL:
            house, run = workshop(), f"{drop_off.label} {day.isoformat()}"
            values = {"ticket": drop_off.label, "items": items, "hours": house.hours if house else ""}
            write_letters(drafts=letters(Key.READY, Purpose.READY, [(customer, run, values)]))
        write(subject=f"drop-off:{drop_off.uid}", by=str(by.uid), verb="asked to collect", facts={"how": how})
    return row


def dispose(*, by: Person, job: Job, seen: int, how: str) -> Disposal:
    """Dispose of an item that nobody collected, after recorded letters."""
    require(by, Can.DISPOSE)
    with transaction.atomic():
        drop_off = DropOff.objects.select_for_update().get(pk=job.drop_off_id)
        job = locked(job, seen)
        asked = Asked.objects.filter(drop_off=drop_off, how__in=Asked.RECORDED)
        refuse(disposal_refusals(list(asked.values_list("on", flat=True)), today(), how))
        carry(by=by, job=job, to=Leg.DISPOSED)
        row = Disposal.objects.create(job=job, how=how, at=now(), by=by)
        hand_over(by=by, line=job.line, where=Where.GONE, holder="disposed of")
        _changed(drop_off)
        facts = {"disposal": str(row.uid)}
        write(subject=f"job:{job.uid}", by=str(by.uid), verb="disposed of", facts=facts, words={"how": how})
    return row
