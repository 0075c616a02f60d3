"""What the tray knows of a job."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import F, Q, QuerySet

from jobs.flow.models import Job
from jobs.flow.reads import backs_of, brought_by
from jobs.flow.rules import still_counts
from jobs.tray.models import TrayPart
from jobs.tray.rules import open_parts
from shop.gear.models import Item
from shop.stock.models import Content, Lot
from shop.workshop.rules import Refusal

MOST_SHOWN = 200


def ended_parts(job: Job) -> dict[str, TrayPart]:
    """The newest row of each loose part that is accounted for and still counts, by key."""
    rows = TrayPart.objects.select_related("movement__lot__part", "by", "second", "round")
    return ended_of([job], rows)[job.pk]


def ended_of(jobs: Sequence[Job], rows: QuerySet[TrayPart]) -> dict[int, dict[str, TrayPart]]:
    """The same of many jobs, by their primary key; `rows` are all rows, with what the caller looks at beside them."""
    legs, gone_back = {job.pk: job.plan.legs for job in jobs}, backs_of(jobs)
    found: dict[int, dict[str, TrayPart]] = {job.pk: {} for job in jobs}
    for row in rows.filter(round__job__in=jobs).annotate(job=F("round__job")).order_by("pk"):
        pk = row.job
        if still_counts(legs[pk], "stripping", row.backs, gone_back[pk]):
            found[pk][row.key] = row
    return found


def accounted(job: Job, untouched: Iterable[str]) -> tuple[Refusal, ...]:
    """Loose parts that are not accounted for; `untouched` never came loose."""
    ended = {key: row.origin for key, row in ended_parts(job).items()}
    return tuple(open_parts(job.plan, ended, untouched))


def fitted_from(lot: Lot) -> QuerySet[TrayPart]:
    """Every place that pieces of a lot went to, newest first; those that came out of its kits too."""
    inside = Content.objects.filter(kit=lot.part_id).values("part")
    same = Lot.objects.filter(Q(part=lot.part_id) | Q(part__in=inside), number=lot.number)
    return _fitted().filter(movement__lot__in=same)


def fitted_to(item: Item) -> QuerySet[TrayPart]:
    """Every lot ever fitted to an item and to those merged into it, newest first."""
    return _fitted().filter(brought_by("round__job__item", item), movement__isnull=False)


def _fitted() -> QuerySet[TrayPart]:
    rows = TrayPart.objects.select_related(
        "movement__lot__part", "round__job__item__owner", "round__job__item__model"
    )
    return rows.order_by("-pk")


def lot_panel(lot: Lot) -> tuple[str, dict[str, Any]]:
    """Where pieces of a lot went, on the page of the lot."""
    rows = list(fitted_from(lot)[: MOST_SHOWN + 1])
    return "tray/lot_panel.html", {"rows": rows[:MOST_SHOWN], "more": len(rows) > MOST_SHOWN}


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """Which lots were fitted, on the page of an item."""
    rows = list(fitted_to(item)[: MOST_SHOWN + 1])
    return "tray/item_panel.html", {"rows": rows[:MOST_SHOWN], "more": len(rows) > MOST_SHOWN}
