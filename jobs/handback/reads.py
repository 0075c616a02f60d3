"""What hand-back knows of a drop-off: what each scan means and what is ready; the slip of what left."""

from collections.abc import Mapping, Sequence
from uuid import UUID

from django.shortcuts import get_object_or_404

from jobs.estimates.reads import declined
from jobs.flow.models import Job, Line
from jobs.flow.reads import newest_custody
from jobs.flow.rules import ENDED, Leg, LineState, Outcome, Where
from jobs.handback.models import HandBack
from jobs.handback.rules import Ready
from shop.gear.reads import belonging
from shop.paper.rules import Bold, Caution, Facts, Heading, Paper, Table, Words, moment
from shop.workshop.reads import zone


def numbers(scanned: Sequence[str], jobs: Sequence[Job], lines: Sequence[Line]) -> list[str]:
    """What was scanned as item numbers and bag tags: the number, its bag's tag, or a mark on it alone; others stay."""
    ours: dict[str, str] = {line.tag: line.tag for line in lines}
    marked: dict[str, set[str]] = {}
    for job in jobs:
        label = job.item.label
        ours |= dict.fromkeys([label, f"E-{job.item.number}", job.line.tag], label)
        for mark in job.item.identifiers.all():
            marked.setdefault(mark.value.upper(), set()).add(label)
    known = {text: min(labels) for text, labels in marked.items() if len(labels) == 1} | ours
    return [known.get(text.strip().upper(), text.strip().upper()) for text in scanned]


def ready(jobs: Mapping[str, Job], lines: Sequence[Line]) -> dict[str, Ready]:
    """Each job by its item's number and each line without one by its tag, as the rules look at them."""
    keys = [*(job.line_id for job in jobs.values()), *(line.pk for line in lines)]
    where = dict(newest_custody().filter(line__in=keys).values_list("line_id", "where"))
    waiting = {job.item_id: job.item.label for job in jobs.values() if job.leg not in ENDED}
    together = belonging(waiting)
    found, refused = {}, declined([job.pk for job in jobs.values()])
    for number, job in jobs.items():
        not_wanted = tuple(f"{row.what}, {row.went_back}" for row in refused.get(job.pk, ()))
        with_it = tuple(waiting[pk] for pk in together.get(job.item_id, ()))
        found[number] = Ready(
            number, job.leg, job.outcome, where[job.line_id] == Where.HERE, with_it, not_wanted
        )
    for line in lines:
        here = where[line.pk] == Where.HERE
        says = "parts only" if line.state == LineState.PARTS_ONLY else "not serviced"
        found[line.tag] = Ready(line.tag, Leg.SIGNED_OFF if here else Leg.HANDED_BACK, says, here)
    return found


def slip(uid: UUID) -> Paper:
    """The slip of a hand-back: what left, with whom, and what came of it."""
    rows = HandBack.objects.select_related("drop_off__customer", "by")
    rows = rows.prefetch_related(
        "jobs__item__model", "jobs__item__identifiers", "jobs__rounds", "jobs__line", "lines__drop_off"
    )
    row = get_object_or_404(rows, uid=uid)
    jobs = sorted(row.jobs.all(), key=lambda job: job.line.n)
    refused = declined([job.pk for job in jobs])
    not_wanted = [
        f"{job.item.label}: {each.what} was declined; the gear is {each.went_back}."
        for job in jobs
        for each in refused.get(job.pk, ())
    ]
    warned = [job.item.label for job in jobs if job.outcome != Outcome.SERVICED]
    warned += [line.tag for line in row.lines.all() if line.state != LineState.PARTS_ONLY]
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
            *([Caution((*not_wanted, "The collector acknowledged this."))] if not_wanted else []),
            Heading("What left"),
            Table(
                ("item", "what", "outcome"),
                (30, 108, 44),
                [*(_row(job) for job in jobs), *(_bare(line) for line in row.lines.all())],
            ),
            Words(
                "The record of an item says what was done and measured here. It does not make the gear safe."
            ),
        ],
    )


def _row(job: Job) -> tuple[str, str, str | tuple[str, ...]]:
    if job.outcome == Outcome.SERVICED:
        return (job.item.label, f"{job.item.title}, {job.item.marks}", job.outcome)
    return (job.item.label, f"{job.item.title}, {job.item.marks}", (job.outcome, Bold("do not dive")))


def _bare(line: Line) -> tuple[str, str, str | tuple[str, ...]]:
    if line.state == LineState.PARTS_ONLY:
        return (line.tag, line.words, "parts only")
    return (line.tag, line.words, ("not serviced", Bold("do not dive")))
