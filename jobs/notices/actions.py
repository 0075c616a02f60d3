"""Raise a doubt, and answer it: for each job that it touched, or as a whole when it touched none."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from jobs.advance.actions import retest
from jobs.bench.reads import attempts, mistrusted
from jobs.flow.actions import let_go, put_hold
from jobs.flow.models import Hold, Job
from jobs.flow.reads import came_as, jobs, of_item
from jobs.flow.rules import ENDED, HoldKind, Leg
from jobs.notices.models import Affected, Answer, Doubt
from jobs.notices.reads import doubts, resting, subject_of, work_of
from jobs.notices.rules import (
    About,
    Became,
    answer_refusals,
    in_spite,
    touches,
)
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.instruments.models import BadPeriod
from shop.journal.actions import write
from shop.post.actions import write_letters
from shop.post.rules import Purpose
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.wording.reads import letters
from shop.wording.rules import Key, Values
from shop.workshop.reads import now, zone
from shop.workshop.rules import Refusal, refuse


def raise_doubt(
    *,
    by: Person,
    about: str,
    row: Any,
    why: str,
    from_day: date | None = None,
    to_day: date | None = None,
    until: datetime | None = None,
) -> Doubt:
    """Doubt something: every open job that rests on it stops, and owners of gear that is gone are written to.

    A job that comes to rest on it later is taken in as its work is recorded, one that does so while this runs as the
    first job is answered for.
    """
    require(by, Can.DOUBT)
    with transaction.atomic():
        given: dict[str, Any] = {about: row, "from_day": from_day, "to_day": to_day, "until": until}
        if standing := doubts().filter(is_open=True, **given).first():
            said = f"A doubt about {standing.label} stands open already: {standing.why}"
            refuse([Refusal("doubted-already", said)])
        doubt = Doubt(about=about, why=why, at=now(), by=by, **given)
        touched = resting(doubt)
        items = {job.item.kept.pk for job in jobs().filter(pk__in=touched)}
        same = came_as("item", Item, items)
        rows = _locked(Q(pk__in=touched) | same & ~Q(leg__in=ENDED))
        doubt.save()
        Affected.objects.bulk_create(Affected(doubt=doubt, job_id=pk) for pk in touched)
        here = {job.item.kept.pk for job in rows if job.leg not in ENDED}
        for job in rows:
            if job.leg not in ENDED:
                put_hold(by=by, job=job, kind=HoldKind.DOUBT, why=why, cause=doubt.cause)
        gone = [job for job in rows if job.leg == Leg.HANDED_BACK and job.item.kept.pk not in here]
        facts = {
            "about": about,
            "row": str(row.uid),
            "from": str(from_day or ""),
            "to": str(to_day or ""),
            "jobs": [str(job.uid) for job in rows if job.pk in set(touched)],
            "letters": _letters(doubt, gone),
        }
        write(subject=doubt.cause, by=str(by.uid), verb="doubt raised", facts=facts, words={"why": why})
    found: Doubt = doubts().get(pk=doubt.pk)
    return found


def found_bad(*, by: Person, period: BadPeriod) -> None:
    """An instrument was found bad: doubt what it measured; gear that was signed off with it and is here is tested again."""
    doubt = raise_doubt(
        by=by, about=About.INSTRUMENT, row=period.instrument, why=period.why,
        from_day=period.from_day, to_day=period.to_day, until=period.at,
    )  # fmt: skip
    signed = Q(pk__in=doubt.affected.values("job"), leg=Leg.SIGNED_OFF)
    for job in _locked(signed):
        if mistrusted([row for row in attempts(job) if row.phase == "final"]):
            retest(by=by, job=job, reason=period.why)


def take_in(*, by: Person, job: Job) -> None:
    """Put a locked job under the open doubts that its record has come to rest on since they were raised.

    Refused for a doubt that was answered by doing the job's work again: it is not done again with what is doubted. What was
    taken in spite of the doubt holds nothing, but the job is among those that the doubt must be answered for.
    """
    standing = doubts().filter(is_open=True)
    if not standing.exists():  # asked at every step: what a doubt is about is read only where one stands
        return
    rows = list(standing.prefetch_related("lot__part__contents").order_by("pk"))
    told = Affected.objects.filter(job=job, doubt__in=rows)
    known = dict(told.values_list("doubt", "answer__became"))
    work = work_of(job, zone())
    late = [row for row in rows if any(touches(subject_of(row), each) for each in work)]
    said = "It is in doubt, and this work was to be done again without it"
    refuse(
        [
            Refusal("doubt", f"{said}: {row.label}, {row.why}")
            for row in late
            if known.get(row.pk) == Became.AGAIN
        ]
    )
    for row in rows:
        if row in late and row.pk not in known:
            _touch(by, row, job)
        elif row.pk not in known and in_spite(subject_of(row), work):
            Affected.objects.create(doubt=row, job=job)


def _touch(by: Person, doubt: Doubt, job: Job) -> None:
    Affected.objects.create(doubt=doubt, job=job)
    put_hold(by=by, job=job, kind=HoldKind.DOUBT, why=doubt.why, cause=doubt.cause)


def _locked(which: Q) -> list[Job]:
    """Jobs, locked in the order of their keys and fresh."""
    pks = sorted(set(Job.objects.filter(which).values_list("pk", flat=True)))
    list(Job.objects.select_for_update().filter(pk__in=pks).order_by("pk"))
    return list(jobs().filter(pk__in=pks).order_by("pk"))


def _letters(doubt: Doubt, gone: Iterable[Job]) -> list[str]:
    """One letter to each owner who has an address, naming all their gear; the uids of the letters."""
    owned: dict[int, list[Job]] = {}
    for job in gone:
        owned.setdefault(job.item.kept.owner_id, []).append(job)
    told: list[tuple[Customer, str, Values]] = []
    for mine in owned.values():
        owner = mine[0].item.kept.owner
        items = dict.fromkeys(
            f"{job.item.title_in(owner.language)}, {job.item.marks} ({job.item.label}), {job.label}"
            for job in mine
        )
        if owner.email:
            told.append((owner, doubt.run, {"items": list(items)}))
    rows = write_letters(drafts=letters(Key.DOUBT, Purpose.SAFETY, told))
    return [str(row.uid) for row in rows if row]


def answer(*, by: Person, affected: Affected, became: str, words: str) -> Answer:
    """Say what became of one affected job; when nothing of its item waits any longer, the doubt's hold is lifted."""
    require(by, Can.ANSWER_DOUBT)
    with transaction.atomic():
        same, doubt = of_item(affected.job.item), doubts().get(pk=affected.doubt_id)
        late = set(resting(doubt)) - set(doubt.affected.values_list("job", flat=True))
        found = _locked(Q(pk=affected.job_id) | (Q(pk__in=same) | Q(pk__in=late)) & ~Q(leg__in=ENDED))
        job = next(each for each in found if each.pk == affected.job_id)
        rows = [each for each in found if each.item.kept == job.item.kept]
        subject, work = subject_of(doubt), work_of(job, zone())
        refuse(
            answer_refusals(
                became,
                job.leg,
                job.outcome,
                here=any(each.leg not in ENDED for each in rows),
                rests=any(touches(subject, each) for each in work) or in_spite(subject, work),
                answered=Answer.objects.filter(affected=affected).exists(),
            )
        )
        row = Answer.objects.create(affected=affected, became=became, words=words, at=now(), by=by)
        for each in found:
            if each.pk in late:
                _touch(by, doubt, each)
        if not Affected.objects.filter(doubt=doubt, job__in=same, answer=None).exists():
            _let_go(by, doubt, rows, became)
        facts = {"doubt": str(doubt.uid), "became": became, "answer": str(row.uid)}
        write(
            subject=f"job:{job.uid}", by=str(by.uid), verb="doubt answered", facts=facts,
            words={"words": words},
        )  # fmt: skip
    return row


def _let_go(by: Person, doubt: Doubt, rows: Sequence[Job], became: str) -> None:
    holds = Hold.objects.filter(job__in=rows, cause=doubt.cause, lifted_at=None)
    for hold in holds.select_related("job", "item"):
        let_go(by=by, hold=hold, why=f"The doubt was answered: {became}.")


def close_doubt(*, by: Person, doubt: Doubt, words: str) -> Answer:
    """Answer a doubt that touched no job; one that touched some is answered for each of them."""
    require(by, Can.ANSWER_DOUBT)
    with transaction.atomic():
        doubt = Doubt.objects.select_for_update(of=("self",)).get(pk=doubt.pk)
        found = []
        if Affected.objects.filter(doubt=doubt).exists():
            found.append(Refusal("answer-each", "It touched jobs: answer it for each of them."))
        if Answer.objects.filter(doubt=doubt).exists():
            found.append(Refusal("answered-before", "This was answered before."))
        refuse(found)
        row = Answer.objects.create(doubt=doubt, words=words, at=now(), by=by)
        facts = {"answer": str(row.uid)}
        write(subject=doubt.cause, by=str(by.uid), verb="doubt answered", facts=facts, words={"words": words})
    return row
