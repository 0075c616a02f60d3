"""What the tray knows of a job."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet

from jobs.flow.models import Job
from jobs.flow.reads import backs, backs_of, brought_by, pinned_of, use_of_job
from jobs.tray.models import TrayPart
from jobs.tray.rules import OVERRIDES, Fitted, counting, fitted_refusals, open_parts
from shop.alternatives.reads import approved_for
from shop.catalogue.rules import LoosePart, together
from shop.gases.rules import Use
from shop.gear.models import Item
from shop.paper.rules import day
from shop.stock.models import Bin, Content, Lot, Stored
from shop.stock.reads import in_life, why_not
from shop.workshop.reads import columns, instant, local_day, today
from shop.workshop.rules import Refusal, in_unit

MOST_SHOWN = 200


def ended_parts(job: Job) -> dict[str, TrayPart]:
    """The newest row of each loose part that is accounted for and still counts, by key."""
    rows = TrayPart.objects.select_related(
        "movement__lot__part",
        "alternative__part",
        "alternative__other",
        "by",
        "recorded_by",
        "second",
        "round",
    )
    kept = [(row.key, row.backs, row) for row in rows.filter(round__job=job).order_by("pk")]
    return counting(job.plan.legs, backs(job), kept)


@dataclass(frozen=True)
class InTray:
    """A lot (part, number) in a tray, and when it was taken although it was in doubt, if it was."""

    lot: tuple[int, str]
    overrode: datetime | None


def overrode_doubt(overridden: str, recorded_at: datetime) -> datetime | None:
    """When a part was taken although its lot was in doubt; None where it was not."""
    return instant(recorded_at) if "blocked" in overridden.split(", ") else None


def lots_of(number: str, parts: Collection[int]) -> dict[int, list[InTray]]:
    """Of the jobs that ever took from lots of one number, by primary key: the lots of their present trays."""
    sql = """
    WITH near AS (
        SELECT DISTINCT r.job_id FROM stock_lot l JOIN stock_movement m ON m.lot_id = l.id
        JOIN tray_traypart t ON t.movement_id = m.id JOIN flow_round r ON r.id = t.round_id
        WHERE l.number = %s AND l.part_id = ANY(%s)
    )
    SELECT r.job_id, t.key, t.backs, l.part_id, l.number, t.overridden, t.recorded_at FROM near JOIN flow_round r ON r.job_id = near.job_id
    JOIN tray_traypart t ON t.round_id = r.id LEFT JOIN stock_movement m ON m.id = t.movement_id
    LEFT JOIN stock_lot l ON l.id = m.lot_id ORDER BY t.id
    """
    rows: dict[int, list[tuple[str, int, InTray | None]]] = {}
    for job, key, recorded_after, part, lot, overridden, at in columns(sql, number, list(parts)):
        taken = InTray((part, lot), overrode_doubt(overridden, at)) if part else None
        rows.setdefault(job, []).append((key, recorded_after, taken))
    gone_back = backs_of(rows)
    versions = pinned_of(
        [job for job, legs in gone_back.items() if legs]
    )  # no other asks in which order its legs are
    legs = {
        job: together([(each.key, each.plan) for each in pinned]).legs for job, pinned in versions.items()
    }
    return {
        job: [each for each in counting(legs.get(job, ()), gone_back[job], kept).values() if each]
        for job, kept in rows.items()
    }


def accounted(job: Job, untouched: Iterable[str]) -> tuple[Refusal, ...]:
    """Loose parts that are not accounted for, and new ones that may not stay in; `untouched` never came loose."""
    rows = ended_parts(job)
    ended = {key: row.origin for key, row in rows.items()}
    fitted = [_fitted_as(job, row) for row in rows.values() if row.movement]
    wrong = fitted_refusals(fitted, use_of_job(job)) if fitted else []
    return (*open_parts(job.plan, ended, untouched), *wrong)


def _fitted_as(job: Job, row: TrayPart) -> Fitted:
    assert row.movement is not None
    lot, part = row.movement.lot, job.plan.part(row.key)
    return Fitted(
        part.name if part else row.key,
        lot.part.number,
        lot.number,
        local_day(row.recorded_at),
        lot.good_to,
        lot.part.fit_for,
        row.overrode,
    )


def lots_for(part: LoosePart, use: Use, *, others: bool) -> list[tuple[Lot, str, bool]]:
    """Lots to choose from for a part of the plan, in words, and whether they may go in; `others` too for an override.

    Lots of an approved alternative stand below, and do not go in without a word.
    """
    approved = {row.other_id: row for row in approved_for(part.renew)}
    numbers = [part.renew, *(row.other.number for row in approved.values())]
    rows = [lot for number in numbers for lot in in_life(number, today()).select_related("part")]
    if others:
        more = Lot.objects.filter(on_hand__gt=0).exclude(pk__in=[row.pk for row in rows])
        rows += more.select_related("part").order_by("part__number", "pk")[:MOST_SHOWN]
    found = []
    for lot in rows:
        good = f"good to {day(lot.good_to)}" if lot.good_to else "without a last day"
        wrong = [str(lot.part)]
        if lot.part_id in approved:
            against = why_not(lot, part.count, lot.part.number, use)
            wrong = [
                approved[lot.part_id].told,
                *(OVERRIDES.get(each.code, "not enough") for each in against),
            ]
        elif lot.part.number == part.renew:
            against = why_not(lot, part.count, part.renew, use)
            wrong = [OVERRIDES.get(each.code, "not enough") for each in against]
        said = "; ".join(
            [f"{lot.number}, {in_unit(lot.on_hand, lot.part.unit)}, {good}", *dict.fromkeys(wrong)]
        )
        found.append((lot, said, not wrong))
    return found


def about_part(job: Job, key: str, done: str) -> str:
    """What somebody reads before saying what became of a part; `done` is the key of the one that was ended just before."""
    part, before, ended, use = job.plan.part(key), job.plan.part(done), ended_parts(job), use_of_job(job)
    if part is None:
        return ""
    said = f"is renewed with part {part.renew}" if part.renew else "is looked at and reused"
    much = f"{part.count} in this gear"
    if not part.pieces:
        said, much = f"is measured out of part {part.renew}", in_unit(part.count, part.unit)
    found = [
        f"{part.name} is {ended[key].told}. Correct it here while the gear is apart." if key in ended else "",
        f"Recorded: {before.name}, {ended[done].told}." if before and done in ended else "",
        f"{part.name}, {much}: by the plan it {said}.",
        f"The gear is for {use.gas}: {use.rule}.",
    ]
    return " ".join(filter(None, found))


def bins_for(lots: Iterable[Lot]) -> list[tuple[Bin, str]]:
    """The bins where some lots lie, by site, each with what lies there in words."""
    rows = Stored.objects.filter(lot__in=[lot.pk for lot in lots], on_hand__gt=0).select_related(
        "bin", "lot__part"
    )
    found: dict[Bin, list[str]] = {}
    for row in rows.order_by("bin__site", "bin__label", "lot"):
        found.setdefault(row.bin, []).append(f"{in_unit(row.on_hand, row.lot.part.unit)} of {row.lot.number}")
    return [
        (place, f"{place}: {', '.join(said[:3])}{', …' * (len(said) > 3)}") for place, said in found.items()
    ]


def fitted_from(lot: Lot) -> QuerySet[TrayPart]:
    """Every place that pieces of a lot went to, newest first; those that came out of its kits too."""
    inside = Content.objects.filter(kit=lot.part_id).values("part")
    same = Lot.objects.filter(Q(part=lot.part_id) | Q(part__in=inside), number=lot.number)
    return _fitted().filter(movement__lot__in=same)


def fitted_to(item: Item) -> QuerySet[TrayPart]:
    """Every lot ever fitted to an item and to those merged into it, newest first."""
    return _fitted().filter(brought_by("round__job__item", item), movement__isnull=False)


def _fitted() -> QuerySet[TrayPart]:
    """What stands of every tray: not what was corrected, whose pieces were put back."""
    rows = TrayPart.objects.select_related(
        "movement__lot__part", "round__job__item__owner", "round__job__item__model"
    )
    return rows.filter(corrected_by=None).order_by("-pk")


def lot_panel(lot: Lot) -> tuple[str, dict[str, Any]]:
    """Where pieces of a lot went, on the page of the lot."""
    rows = list(fitted_from(lot)[: MOST_SHOWN + 1])
    return "tray/lot_panel.html", {"rows": rows[:MOST_SHOWN], "more": len(rows) > MOST_SHOWN}


def item_panel(item: Item) -> tuple[str, dict[str, Any]]:
    """Which lots were fitted, on the page of an item."""
    rows = list(fitted_to(item)[: MOST_SHOWN + 1])
    return "tray/item_panel.html", {"rows": rows[:MOST_SHOWN], "more": len(rows) > MOST_SHOWN}
