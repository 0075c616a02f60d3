"""What the tray knows of a job."""

from collections.abc import Collection, Iterable

from jobs.flow.models import Job
from jobs.flow.reads import backs, backs_of, pinned_of
from jobs.tray.models import TrayPart
from jobs.tray.rules import counting, open_parts
from shop.catalogue.rules import together
from shop.workshop.reads import columns
from shop.workshop.rules import Refusal


def ended_parts(job: Job) -> dict[str, TrayPart]:
    """The newest row of each loose part that is accounted for and still counts, by key."""
    rows = TrayPart.objects.select_related("movement__lot__part", "by", "second", "round")
    kept = [(row.key, row.backs, row) for row in rows.filter(round__job=job).order_by("pk")]
    return counting(job.plan.legs, backs(job), kept)


def lots_of(number: str, parts: Collection[int]) -> dict[int, list[tuple[int, str] | None]]:
    """Of the jobs that ever took from lots of one number, by primary key: the lots (part, number) of their present trays."""
    sql = """
    WITH near AS (
        SELECT DISTINCT r.job_id FROM stock_lot l JOIN stock_movement m ON m.lot_id = l.id
        JOIN tray_traypart t ON t.movement_id = m.id JOIN flow_round r ON r.id = t.round_id
        WHERE l.number = %s AND l.part_id = ANY(%s)
    )
    SELECT r.job_id, t.key, t.backs, l.part_id, l.number FROM near JOIN flow_round r ON r.job_id = near.job_id
    JOIN tray_traypart t ON t.round_id = r.id LEFT JOIN stock_movement m ON m.id = t.movement_id
    LEFT JOIN stock_lot l ON l.id = m.lot_id ORDER BY t.id
    """
    rows: dict[int, list[tuple[str, int, tuple[int, str] | None]]] = {}
    for job, key, recorded_after, part, lot in columns(sql, number, list(parts)):
        rows.setdefault(job, []).append((key, recorded_after, (part, lot) if part else None))
    gone_back = backs_of(rows)
    versions = pinned_of(
        [job for job, legs in gone_back.items() if legs]
    )  # no other asks in which order its legs are
    legs = {
        job: together([(each.key, each.plan) for each in pinned]).legs for job, pinned in versions.items()
    }
    return {
        job: list(counting(legs.get(job, ()), gone_back[job], kept).values()) for job, kept in rows.items()
    }


def accounted(job: Job, untouched: Iterable[str]) -> tuple[Refusal, ...]:
    """Loose parts that are not accounted for; `untouched` never came loose."""
    ended = {key: row.origin for key, row in ended_parts(job).items()}
    return tuple(open_parts(job.plan, ended, untouched))
