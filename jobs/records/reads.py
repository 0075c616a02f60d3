"""The record of a round, gathered from every room below; its tests alone, as the bench sheet."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404

from jobs.bench.models import Attempt
from jobs.bench.reads import attempts, counting, typed
from jobs.flow.actions import present_round
from jobs.flow.models import Job
from jobs.flow.reads import jobs
from jobs.live.reads import no_attempts
from jobs.records.rules import bench_paper
from jobs.tray.models import TrayPart
from jobs.tray.reads import ended_parts
from jobs.worksheet.models import StepDone
from jobs.worksheet.reads import done_steps
from shop.catalogue.rules import LoosePart, Plan, Step
from shop.gear.models import Item
from shop.paper.rules import Paper
from shop.workshop.reads import zone


def gather_record(job: Job) -> dict[str, Any]:
    """Everything the present round states, as plain values; people by the names they had."""
    plan, steps, parts = job.plan, done_steps(job), ended_parts(job)
    tried = counting(job, attempts(job))
    tested = {row.key for row, counts in tried if counts and row.phase == "final"}
    return {
        **_about(job),
        "steps": [_step(plan, step, steps.get(step.key)) for step in plan.steps],
        "parts": [_part(part, parts.get(part.key)) for part in plan.parts],
        "tests": _tests(plan, tried),
        "loggings": _loggings(job),
        "not_tested": [test.title for test in plan.tests if test.key not in tested],
        "cautions": list(plan.cautions),
    }


def bench_sheet(uid: UUID) -> Paper:
    """The bench sheet of a job: every attempt of its present round, each with its picture. It is not the record."""
    job = get_object_or_404(jobs(), uid=uid)
    tried = counting(job, attempts(job))
    tests, pictures = _tests(job.plan, tried), {str(row.uid): row.picture for row, _ in tried}
    tested = {row.key for row, _ in tried}
    not_tested = [test.title for test in job.plan.tests if test.key not in tested]
    about = _about(job) | {"loggings": _loggings(job)}
    return bench_paper(about, tests, pictures, not_tested=not_tested, zone=zone())


def _loggings(job: Job) -> list[dict[str, Any]]:
    """What was logged and is no attempt, with the reason."""
    return [_logging(job.plan, row) for row in no_attempts(job)]


def _logging(plan: Plan, row: Any) -> dict[str, Any]:
    asked = plan.test(row.key)
    return {
        "uid": str(row.uid),
        "title": asked.title if asked else row.key,
        "phase": row.phase,
        "state": row.state,
        "reason": row.reason,
        "samples": row.samples or 0,
        "instrument": row.instrument.code if row.instrument else "",
        "begun_at": _iso(row.at),
        "begun_by": row.by.name,
    }


def _tests(plan: Plan, tried: list[tuple[Attempt, bool]]) -> list[dict[str, Any]]:
    """What counts first; then the attempts that a later one of the same test has taken the place of."""
    beside = {each["item"] for row, _ in tried for each in row.beside}
    labels = dict(Item.objects.filter(uid__in=beside).values_list("uid", "number"))
    last = {row.key: row.pk for row, counts in tried if counts and row.phase == "final"}
    found = []
    for row, counts in tried:
        asked = plan.test(row.key)
        one_counts = asked is not None and asked.repeat != "all" and row.phase == "final"
        replaced = one_counts and row.pk < last.get(row.key, 0)
        found.append(_test(plan, row, counts, labels) | {"replaced": replaced})
    return sorted(found, key=lambda each: bool(each["replaced"]))


def _about(job: Job) -> dict[str, Any]:
    """The job, its item, its owner's number, and the gear as it came."""
    item, line = job.item, job.line
    marks = [{"kind": m.kind, "value": m.value, "state": m.state} for m in item.identifiers.all()]
    return {
        "format": 1,
        "job": {"uid": str(job.uid), "number": job.number, "drop_off": job.drop_off.label},
        "round": present_round(job).n,
        "follows": f"job {job.follows.number}" if job.follows else "",
        "item": {
            "uid": str(item.uid),
            "number": item.label,
            "model": str(item.model),
            "kind": item.model.kind_label,
            "marks": marks,
        },
        "owner": item.owner.label,
        "received": {
            "words": line.words,
            "condition": line.condition,
            "contents": line.contents,
            "state": line.state,
            "taint": line.taint,
            "accessories": line.accessories,
        },
        "plans": [
            {"uid": str(each.uid), "title": each.plan.title, "version": each.n, "digest": each.digest}
            for each in job.plans
        ],
        "holds": [
            {"kind": row.kind, "why": row.why, "lifted": bool(row.lifted_at), "lifted_why": row.lifted_why}
            for row in [*job.holds.all(), *item.holds.all()]
        ],
        "technician": job.technician.name if job.technician else "",
    }


def _step(plan: Plan, step: Step, row: StepDone | None) -> dict[str, Any]:
    told = {
        "n": plan.position(step),
        "title": step.title,
        "done": row is not None and not row.omitted,
        "omitted": row.omitted if row else "",
        "noted": row.noted if row else "",
        "asked_n_m": step.torque_n_m,
    }
    if row is None:
        return told
    return told | {
        "counted": row.counted,
        "torque_n_m": row.torque_n_m,
        "wrench": row.wrench.code if row.wrench else "",
        "done_at": _iso(row.done_at),
        "done_by": row.done_by.name,
        "recorded_by": row.recorded_by.name,
        "authorisation": row.authorisation,
    }


def _part(part: LoosePart, row: TrayPart | None) -> dict[str, Any]:
    told: dict[str, Any] = {"name": part.name, "count": part.count, "unit": part.unit}
    if row is None:
        return told | {"ending": "not accounted for"}
    told |= {"ending": row.ending, "origin": row.origin, "words": row.words, "why": row.why}
    told["second"] = row.second.name if row.second else ""
    if row.movement is None:
        return told
    lot = row.movement.lot
    told |= {"part": lot.part.number, "lot": lot.number, "good_to": str(lot.good_to or "")}
    told |= {"gas": row.gas, "gas_rule": row.gas_rule}
    told["alternative"] = row.alternative.told if row.alternative else ""
    told |= {"overridden": row.overridden_words, "override": row.override, "lead": row.recorded_by.name}
    return told


def _test(plan: Plan, row: Attempt, counts: bool, labels: dict[Any, int]) -> dict[str, Any]:
    asked = plan.test(row.key)
    return {
        "uid": str(row.uid),
        "title": asked.title if asked else row.key,
        "phase": row.phase,
        "counts": counts,
        "verdict": row.verdict,
        "reading": row.reading,
        "why_again": row.why_again,
        "unit": row.unit,
        "typed": [list(each) for each in typed(row)],
        "result": row.result,
        "instrument": row.instrument.code if row.instrument else "",
        "calibrated_to": str(row.calibrated_to or ""),
        "station": row.station,
        "certificate": row.certificate,
        "beside": [f"E-{labels[UUID(each['item'])]:05d}" for each in row.beside],
        "done_at": _iso(row.done_at),
        "done_by": row.done_by.name,
        "authorisation": row.authorisation,
    }


def _iso(instant: datetime) -> str:
    return instant.isoformat(timespec="seconds")
