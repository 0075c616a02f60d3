"""The record of a round, gathered from every room; the closed one on paper."""

import json
from datetime import datetime
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404

from jobs.bench.models import Attempt
from jobs.bench.reads import attempts, counting
from jobs.flow.actions import present_round
from jobs.flow.models import Job
from jobs.flow.rules import Outcome
from jobs.signoff import rules
from jobs.signoff.models import SignOff
from jobs.tray.reads import ended_parts
from jobs.worksheet.reads import done_steps
from shop.gear.models import Item
from shop.paper.rules import Paper
from shop.staff.models import Person
from shop.staff.reads import authorisation_for
from shop.staff.rules import Can
from shop.workshop.reads import zone


def signers(job: Job) -> list[Person]:
    """Everybody who may sign a job off today."""
    people = Person.objects.filter(is_active=True).prefetch_related("roles", "authorisations")
    return [
        person
        for person in people.order_by("name")
        if person.may(Can.SIGN)
        and not authorisation_for(person, job.item.model, oxygen=job.plan.oxygen, signing=True)[1]
    ]


def signer_of(job: Job) -> str:
    """Who signed a job's newest round; empty when nobody has."""
    row = SignOff.objects.filter(round__job=job).select_related("signer").order_by("-pk").first()
    return row.signer.name if row else ""


def gather_record(job: Job) -> dict[str, Any]:
    """Everything the present round states, as plain values; people by the names they had."""
    plan = job.plan
    steps, parts = done_steps(job), ended_parts(job)
    tried = counting(job, attempts(job))
    tested = {row.key for row, counts in tried if counts and row.phase == "final"}
    return {
        "format": 1,
        "job": {"uid": str(job.uid), "number": job.number, "drop_off": job.drop_off.label},
        "item": {
            "uid": str(job.item.uid),
            "number": job.item.label,
            "model": str(job.item.model),
            "kind": job.item.model.kind_label,
            "marks": [
                {"kind": m.kind, "value": m.value, "state": m.state} for m in job.item.identifiers.all()
            ],
        },
        "owner": job.item.owner.label,
        "received": {
            "words": job.line.words,
            "condition": job.line.condition,
            "contents": job.line.contents,
            "state": job.line.state,
            "taint": job.line.taint,
            "accessories": job.line.accessories,
        },
        "plans": [
            {"uid": str(each.uid), "title": each.plan.title, "version": each.n, "digest": each.digest}
            for each in job.plans
        ],
        "round": present_round(job).n,
        "follows": f"job {job.follows.number}" if job.follows else "",
        "holds": [
            {"kind": row.kind, "why": row.why, "lifted": bool(row.lifted_at), "lifted_why": row.lifted_why}
            for row in [*job.holds.all(), *job.item.holds.all()]
        ],
        "technician": job.technician.name if job.technician else "",
        "steps": [
            {
                "n": plan.position(step),
                "title": step.title,
                "done": step.key in steps and not steps[step.key].omitted,
                "omitted": steps[step.key].omitted if step.key in steps else "",
                "asked_n_m": step.torque_n_m,
                **(_step(steps[step.key]) if step.key in steps else {}),
            }
            for step in plan.steps
        ],
        "parts": [
            {
                "name": part.name,
                "count": part.count,
                "ending": parts[part.key].ending if part.key in parts else "not accounted for",
                **(_lot(parts[part.key])),
            }
            if part.key in parts
            else {"name": part.name, "count": part.count, "ending": "not accounted for"}
            for part in plan.parts
        ],
        "tests": [_test(job, row, counts) for row, counts in tried],
        "not_tested": [test.title for test in plan.tests if test.key not in tested],
        "cautions": list(plan.cautions),
    }


def pictures(row: SignOff) -> dict[str, Any]:
    """The drawings of the tests of a signed round, by uid."""
    rows = Attempt.objects.filter(round=row.round_id).values_list("uid", "picture")
    return {str(uid): drawn for uid, drawn in rows}


def record_paper(uid: UUID) -> Paper:
    """The closed record of a sign-off, to go with the gear."""
    row = get_object_or_404(SignOff, uid=uid)
    return rules.record_paper(json.loads(row.record), pictures(row), digest=row.digest, zone=zone())


def do_not_dive(uid: UUID) -> Paper:
    """The "do not dive" slip of a sign-off; there is none for what was serviced."""
    row = get_object_or_404(SignOff.objects.exclude(outcome=Outcome.SERVICED.value), uid=uid)
    return rules.do_not_dive(json.loads(row.record), zone=zone())


def _step(row: Any) -> dict[str, Any]:
    return {
        "counted": row.counted,
        "torque_n_m": row.torque_n_m,
        "wrench": row.wrench.code if row.wrench else "",
        "done_at": _iso(row.done_at),
        "done_by": row.done_by.name,
        "recorded_by": row.recorded_by.name,
        "authorisation": row.authorisation,
    }


def _lot(row: Any) -> dict[str, str]:
    told = {"origin": row.origin, "words": row.words, "second": row.second.name if row.second else ""}
    if row.movement is None:
        return told
    lot = row.movement.lot
    return told | {"part": lot.part.number, "lot": lot.number, "good_to": str(lot.good_to or "")}


def _test(job: Job, row: Attempt, counts: bool) -> dict[str, Any]:
    asked = job.plan.test(row.key)
    return {
        "uid": str(row.uid),
        "title": asked.title if asked else row.key,
        "phase": row.phase,
        "counts": counts,
        "verdict": row.verdict,
        "reading": row.reading,
        "unit": row.unit,
        "result": row.result,
        "instrument": row.instrument.code if row.instrument else "",
        "calibrated_to": str(row.calibrated_to or ""),
        "station": row.station,
        "certificate": row.certificate,
        "beside": [Item.objects.get(uid=each["item"]).label for each in row.beside],
        "done_at": _iso(row.done_at),
        "done_by": row.done_by.name,
        "authorisation": row.authorisation,
    }


def _iso(instant: datetime) -> str:
    return instant.isoformat(timespec="seconds")
