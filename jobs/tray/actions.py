"""Account for a loose part."""

from django.db import transaction

from jobs.flow.actions import locked, present_round
from jobs.flow.models import Job
from jobs.flow.reads import backs
from jobs.tray.models import TrayPart
from jobs.tray.reads import ended_parts
from jobs.tray.rules import ending_refusals
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, require
from shop.staff.rules import Can
from shop.stock.actions import take
from shop.stock.models import Lot
from shop.stock.reads import why_not
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, refuse


def end_part(*, by: Person, job: Job, key: str, ending: str, lot: Lot | None) -> TrayPart:
    """Say what became of a loose part: reused, or renewed from a lot, which is taken from the store."""
    require(by, Can.WORK)
    with transaction.atomic():
        job = locked(job)
        round_ = present_round(job)
        part = job.plan.part(key)
        if part is None:
            refuse([Refusal("no-such-part", f"The plan has no loose part {key}.")])
        assert part is not None
        ended = ended_parts(job)
        scope, refusals = authorisation_for(by, job.item.model)
        wrong_lot = why_not(lot, part.count, part.renew) if lot else []
        refuse(
            [*refusals, *ending_refusals(part, ending, job.leg, ended, has_lot=lot is not None), *wrong_lot]
        )
        subject = f"job:{job.uid}"
        movement = (
            take(by=by, lot=lot, quantity=part.count, wanted_part=part.renew, subject=subject)
            if lot
            else None
        )
        row = TrayPart.objects.create(
            round=round_,
            key=key,
            backs=len(backs(job)),
            count=part.count,
            ending=ending,
            movement=movement,
            authorisation=scope,
            at=now(),
            by=by,
        )
        facts = {"part": key, "ending": ending, "lot": str(lot.uid) if lot else "", "count": part.count}
        write(subject=subject, by=str(by.uid), verb="part accounted for", facts=facts)
    return row
