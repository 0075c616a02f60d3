"""The hand-back slip: what left, with whom, and what came of it."""

from uuid import UUID

from django.shortcuts import get_object_or_404

from jobs.flow.models import Job
from jobs.flow.rules import Outcome
from jobs.handback.models import HandBack
from shop.paper.rules import Bold, Caution, Facts, Heading, Paper, Table, Words, moment
from shop.workshop.reads import zone


def slip(uid: UUID) -> Paper:
    """The slip of a hand-back: what left, with whom, and what came of it."""
    rows = HandBack.objects.select_related("drop_off__customer", "by")
    rows = rows.prefetch_related("jobs__item__model", "jobs__item__identifiers", "jobs__rounds", "jobs__line")
    row = get_object_or_404(rows, uid=uid)
    jobs = sorted(row.jobs.all(), key=lambda job: job.line.n)
    warned = [job.item.label for job in jobs if job.outcome != Outcome.SERVICED]
    facts = [
        ("customer", row.drop_off.customer.name),
        ("handed back to", Bold(row.collector)),
        ("on", moment(row.at, zone())),
        ("by", row.by.name),
    ]
    said = (
        Bold(f"Do not dive with: {', '.join(warned)}."),
        "The collector acknowledged this.",
    )
    return Paper(
        name=f"hand-back-{row.drop_off.label}",
        title=f"Hand-back slip, {row.drop_off.label}",
        mark=row.drop_off.label,
        blocks=[
            Facts(facts),
            *([Caution(said, 13)] if warned else []),
            Heading("What left"),
            Table(("item", "what", "outcome"), (30, 108, 44), [_row(job) for job in jobs]),
            Words(
                "The record of an item says what was done and measured here. It does not make the gear safe."
            ),
        ],
    )


def _row(job: Job) -> tuple[str, str, str | tuple[str, ...]]:
    if job.outcome == Outcome.SERVICED:
        return (job.item.label, f"{job.item.title}, {job.item.marks}", job.outcome)
    return (job.item.label, f"{job.item.title}, {job.item.marks}", (job.outcome, Bold("do not dive")))
