"""What hand-back knows of a drop-off: what each scan means and what is ready."""

from collections.abc import Mapping, Sequence

from jobs.flow.models import Job, Line
from jobs.flow.reads import at_hand
from jobs.flow.rules import ENDED, Leg, LineState, Where
from jobs.handback.rules import Ready
from shop.gear.reads import companions


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
    waiting = {job.item_id: job.item.label for job in jobs.values() if job.leg not in ENDED}
    found = {}
    for number, job in jobs.items():
        with_it = tuple(waiting[pk] for pk in companions(job.item) if pk in waiting)
        here = at_hand(job.line).where == Where.HERE
        found[number] = Ready(number, job.leg, job.outcome, here, with_it)
    for line in lines:
        gone = at_hand(line).where != Where.HERE
        says = "parts only" if line.state == LineState.PARTS_ONLY else "not serviced"
        found[line.tag] = Ready(line.tag, Leg.HANDED_BACK if gone else Leg.SIGNED_OFF, says, not gone)
    return found
