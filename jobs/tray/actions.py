"""Account for a loose part."""

from datetime import datetime
from typing import Any

from django.db import transaction

from jobs.flow.actions import locked, present_round, recorded, worked
from jobs.flow.models import Job
from jobs.flow.reads import backs, done_refusals, use_of_job, work_refusals
from jobs.tray.models import TrayPart
from jobs.tray.reads import ended_parts
from jobs.tray.rules import (
    Origin,
    again_refusals,
    ending_refusals,
    measured_refusals,
    origin_of,
    overridable,
    override_refusals,
    second_refusals,
)
from shop.alternatives.models import Alternative
from shop.alternatives.reads import approval_of
from shop.alternatives.rules import WRONG_PART, as_approved
from shop.catalogue.rules import LoosePart
from shop.gases.rules import Use
from shop.journal.actions import write
from shop.staff.models import Person
from shop.staff.reads import authorisation_for, require, secret_refusals
from shop.staff.rules import Can
from shop.stock.actions import locked_lot, put_back, take
from shop.stock.models import Bin, Lot
from shop.stock.reads import why_not, why_not_there
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, refuse


def end_part(
    *,
    by: Person,
    job: Job,
    key: str,
    ending: str,
    lot: Lot | None = None,
    bin: Bin | None = None,
    origin: str = "",
    words: str = "",
    second: Person | None = None,
    second_secret: str = "",
    override: str = "",
    as_alternative: bool = False,
    why: str = "",
    done_by: Person | None = None,
    done_at: datetime | None = None,
) -> TrayPart:
    """Say what became of a loose part and what goes back in; a lot's piece is taken from the store, from a bin if one is said.

    `override` is the lead's reason to take it although it is refused, together with the second person; `as_alternative` says that
    the condition of an approved alternative holds. `why` corrects what was recorded while the gear is still apart: what was taken
    is put back.
    """
    require(by, Can.OVERRIDE if override else Can.WORK)
    with transaction.atomic():
        job = locked(job)
        part, before, use = _part(job, key), ended_parts(job).get(key), use_of_job(job)
        instant, origin = now(), origin_of(ending, has_lot=lot is not None, chosen=origin)
        who, when = done_by or by, done_at or instant
        if why and before and before.movement:
            lot = put_back(by=by, taken=before.movement, then=lot)
        found, other = _asked_of(lot, part, use, bin, as_alternative)
        overridden = [each.code for each in found if override and overridable(each.code, use.gas)]
        scope, refusals = authorisation_for(who, job.item.model, oxygen=job.plan.oxygen)
        refuse(
            [
                *work_refusals(job),
                *refusals,
                *done_refusals(who, when, job),
                *_ended_refusals(job, part, before, ending, origin, words, lot, why, bin),
                *(each for each in found if each.code not in overridden),
                *_second_refusals(by, who, ending, second, second_secret, override, found, use),
            ]
        )
        taken = take(
            by=by, lot=lot, quantity=part.count, wanted_part=part.renew, subject=f"job:{job.uid}", use=use,
            overridden=[*overridden, *([WRONG_PART] if other else [])], bin=bin,
        ) if lot else None  # fmt: skip
        row = TrayPart.objects.create(
            **_pass(job, key, before), count=part.count, ending=ending,
            origin=origin, movement=taken, gas=use.gas if taken else "", gas_rule=use.rule if taken else "",
            overridden=", ".join(overridden), override=override, alternative=other, words=words, second=second,
            corrects=before if why else None, why=why, authorisation=scope, at=when, by=who, recorded_at=instant, recorded_by=by,
        )  # fmt: skip
        worked(job=job)
        _tell(by, job, row, lot)
        recorded(by=by, job=job)
    return row


def _part(job: Job, key: str) -> LoosePart:
    """A loose part of the plan; refused where there is none."""
    part = job.plan.part(key)
    if part is None:
        refuse([Refusal("no-such-part", f"The plan has no loose part {key}.")])
    assert part is not None
    return part


def _asked_of(
    lot: Lot | None, part: LoosePart, use: Use, bin: Bin | None, as_alternative: bool
) -> tuple[list[Refusal], Alternative | None]:
    """Why a lot may not be taken for a part, from a bin, and as which approved alternative it is taken."""
    if lot is None:
        return as_approved([], "", acknowledged=as_alternative), None
    lot = locked_lot(lot)  # what it has is asked of it as it is now, and stays so until it is taken
    approved = approval_of(lot, part.renew)
    told = approved.told if approved else ""
    found = as_approved(why_not(lot, part.count, part.renew, use), told, acknowledged=as_alternative)
    return [*found, *why_not_there(lot, part.count, bin)], approved if as_alternative else None


def _pass(job: Job, key: str, before: TrayPart | None) -> dict[str, Any]:
    """In which pass of which round a part's row stands, and as which of its rows there."""
    present = {"round": present_round(job), "backs": len(backs(job))}
    again = before is not None and (before.round, before.backs) == (present["round"], present["backs"])
    return present | {"key": key, "n": before.n + 1 if before and again else 1}


def _tell(by: Person, job: Job, row: TrayPart, lot: Lot | None) -> None:
    """The journal's entry."""
    facts: dict[str, Any] = {"part": row.key, "ending": row.ending, "origin": row.origin, "count": row.count}
    facts |= {"lot": str(lot.uid) if lot else "", "bin": str(row.movement.bin.uid) if row.movement else ""}
    facts |= {"second": str(row.second.uid) if row.second else ""}
    facts |= {"by": str(row.by.uid), "gas": row.gas, "overridden": row.overridden}
    facts |= {"alternative": str(row.alternative.uid)} if row.alternative else {}
    facts |= {"corrects": str(row.corrects.uid) if row.corrects else ""}
    told = {name: text for name, text in (("override", row.override), ("why", row.why)) if text}
    verb = "part corrected" if row.corrects else "part accounted for"
    write(subject=f"job:{job.uid}", by=str(by.uid), verb=verb, facts=facts, words=told)


def _ended_refusals(
    job: Job, part: LoosePart, row: TrayPart | None, ending: str, origin: str, words: str, lot: Lot | None,
    why: str, bin: Bin | None,
) -> list[Refusal]:  # fmt: skip
    open_place = row is not None and row.origin == Origin.NOTHING
    found = again_refusals(part.name, stands=row is not None, open_place=open_place, why=why)
    before = row.ending if row and open_place and not why else None
    given = {"has_lot": lot is not None, "has_bin": bin is not None}
    found += measured_refusals(part, ending, origin, lot.part.unit if lot else None)
    return [*found, *ending_refusals(part, ending, origin, job.leg, before, **given, words=words)]


def _second_refusals(
    by: Person, who: Person, ending: str, second: Person | None, second_secret: str, override: str,
    wrong: list[Refusal], use: Use,
) -> list[Refusal]:  # fmt: skip
    """Why a second person does not stand beside whoever lost the part, or beside the lead who overrides."""
    given = second is not None
    found = second_refusals(ending, given=given, is_same=given and second == who)
    if override:
        codes = [each.code for each in wrong]
        found += override_refusals(codes, use.gas, given=given, is_same=given and second == by)
    if second is not None and not found:
        found += secret_refusals(second, second_secret, "second_secret")
    return found
