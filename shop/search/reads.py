"""Which rows hold what is asked: the same answer on both engines, each helped by its own trigrams.

Nothing asked costs more than reading every row once: a fragment that is common is met soon, a rare one by its trigrams.
"""

from typing import Any

from django.db import connection
from django.db.models import Q, QuerySet

from shop.search.models import Findable
from shop.search.rules import Kind, question

MOST = 20  # of a kind on a page
FEW = 300  # rows up to which it is quicker to look at all that was found than to ask for the newest of each kind


def matching(asked: str) -> QuerySet[Findable]:
    """Every thing that holds what is asked."""
    asks = question(asked)
    if not asks.words:
        return Findable.objects.none()
    return _holding(asks.words, asks.others)


def exactly(asked: str) -> list[Findable]:
    """The things of which what is asked is a whole code, the newest first, one more than `MOST` at most."""
    asks = question(asked)
    return list(_holding(asks.exact[:1], asks.exact[1:]).order_by("-pk")[: MOST + 1]) if asks.exact else []


def groups(asked: str) -> list[dict[str, Any]]:
    """The newest things that hold what is asked, by kind: at most `MOST` of each, and whether there are more."""
    rows, made = matching(asked).defer("words").order_by("-pk"), []
    first = list(rows[: FEW + 1])
    for kind in Kind:
        some = [row for row in first if row.kind == kind.value][: MOST + 1]
        if len(some) <= MOST and len(first) > FEW:
            some = list(rows.filter(kind=kind.value)[: MOST + 1])
        if some:
            made.append(group(kind.heading, some))
    return made


def group(heading: str, rows: list[Findable]) -> dict[str, Any]:
    """One group of a page."""
    return {"heading": heading, "rows": rows[:MOST], "more": len(rows) > MOST}


def _holding(every: tuple[str, ...], others: tuple[str, ...]) -> QuerySet[Findable]:
    """The rows that hold every fragment, or any of the others."""
    held = Q(*(Q(words__contains=part) for part in every))
    for other in others:
        held |= Q(words__contains=other)
    rows = Findable.objects.filter(held)
    if connection.vendor == "sqlite" and (near := _near(every, others)) is not None:
        rows = rows.filter(pk__in=near)
    return rows


def _near(every: tuple[str, ...], others: tuple[str, ...]) -> list[int] | None:
    """What SQLite's trigrams find, when it is little; None where they do not help. No other is ever too short."""
    long = [part for part in every if len(part) >= 3]
    if not long:
        return None
    match = " OR ".join([f"({' AND '.join(map(_quoted, long))})", *map(_quoted, others)])
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT rowid FROM search_trigrams WHERE search_trigrams MATCH %s LIMIT %s", [match, FEW + 1]
        )
        found = [pk for (pk,) in cursor.fetchall()]
    return found if len(found) <= FEW else None


def _quoted(part: str) -> str:
    """A text of the full-text table's own language; in quotes nothing is an operator."""
    return '"' + part.replace('"', '""') + '"'
