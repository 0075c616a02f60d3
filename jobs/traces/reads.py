"""A stored trace looked at closely: in a window, with another of the same test and item laid over it, as a file."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from jobs.bench.methods import METHODS, Logged
from jobs.bench.methods.overlays import Curve, overlay, window_of
from jobs.bench.methods.pictures import Picture
from jobs.bench.models import Attempt
from jobs.bench.reads import stored_trace
from jobs.flow.reads import brought_by
from shop.workshop.reads import zone

MOST_TO_LAY_OVER = 50


@dataclass(frozen=True)
class Look:
    """What the page shows: the picture, its window, where zero is, and the units of the two axes."""

    picture: Picture
    window: tuple[float, float]
    from_purge: bool
    units: tuple[str, str]


def traced(uid: UUID) -> Attempt:
    """An attempt with a trace; 404 for any other."""
    row = get_object_or_404(_traced(), uid=uid)
    if logged_of(row) is None:
        raise Http404
    return row


def logged_of(row: Attempt) -> Logged | None:
    """How its method reads and draws a log; None for a method that this version does not know."""
    method = METHODS.get(row.result["method"])
    return method.logged if method else None


def comparable(row: Attempt) -> list[Attempt]:
    """Other traces of the same test of the same gear, as received and final, of this service and earlier ones."""
    same = brought_by("round__job__item", row.round.job.item)
    rows = _traced().filter(same, key=row.key).exclude(pk=row.pk).defer("trace").order_by("-pk")
    return [each for each in rows[:MOST_TO_LAY_OVER] if each.result["method"] == row.result["method"]]


def name_of(row: Attempt) -> str:
    """A trace in a list: when, in which phase, of which job, with which verdict."""
    day = row.done_at.astimezone(zone()).date()
    return f"{row.phase}, {day:%-d %b %Y}, tray {row.round.job.number}: {row.verdict}"


def look(row: Attempt, over: Attempt | None, start: float | None, end: float | None) -> Look:
    """Draw one trace or two in a window; ValueError when nothing would be seen.

    Time counts from the end of the purge where each of them shows one, else from the start of the record.
    """
    logged = logged_of(row)
    if logged is None:
        raise ValueError("This version does not know how to draw it.")
    rows = [row] if over is None else [row, over]
    released = [_released_s(each) for each in rows]
    zeros = [each for each in released if each is not None]
    from_purge = len(zeros) == len(rows)
    curves = [
        _curve(logged, each, zero)
        for each, zero in zip(rows, zeros if from_purge else [0.0] * len(rows), strict=True)
    ]
    window = window_of(curves, start, end)
    return Look(overlay(curves, window, logged.units), window, from_purge, logged.units)


def _curve(logged: Logged, row: Attempt, zero_s: float) -> Curve:
    return logged.curve(logged.read(stored_trace(row)), name_of(row), zero_s)


def _released_s(row: Attempt) -> float | None:
    figures: dict[str, Any] = row.result.get("figures") or {}
    found = figures.get("released_s")
    return None if found is None else float(found)


def _traced() -> QuerySet[Attempt]:
    rows = Attempt.objects.exclude(trace=b"").select_related(
        "round__job__item__model", "instrument", "done_by"
    )
    return rows.prefetch_related("round__job__item__identifiers")
