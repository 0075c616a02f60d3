"""The record of a round, gathered from every room; the closed one on paper."""

import json
from datetime import datetime
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404

from jobs.bench.models import Attempt
from jobs.bench.reads import attempts, counting
from jobs.flow.models import Job
from jobs.flow.rules import Outcome
from jobs.signoff import rules
from jobs.signoff.models import SignOff
from jobs.tray.reads import ended_parts
from jobs.worksheet.reads import done_steps
from shop.paper.rules import Paper
from shop.workshop.reads import zone


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
        "received": {"words": job.line.words, "condition": job.line.condition, "contents": job.line.contents},
        "plans": [
            {
                "uid": str(job.plan_version.uid),
                "title": plan.title,
                "version": job.plan_version.n,
                "digest": job.plan_version.digest,
            }
        ],
        "technician": job.technician.name if job.technician else "",
        "steps": [
            {
                "n": plan.position(step),
                "title": step.title,
                "done": step.key in steps,
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
    if row.movement is None:
        return {}
    lot = row.movement.lot
    return {"part": lot.part.number, "lot": lot.number, "good_to": str(lot.good_to or "")}


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
        "instrument": row.instrument.code,
        "calibrated_to": str(row.calibrated_to),
        "done_at": _iso(row.done_at),
        "done_by": row.done_by.name,
        "authorisation": row.authorisation,
    }


def _iso(instant: datetime) -> str:
    return instant.isoformat(timespec="seconds")
