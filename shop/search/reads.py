"""Which rows hold what is asked: the same answer on both engines, each by its own trigrams."""

from itertools import groupby
from typing import Any

from django.db import connection
from django.db.models import BooleanField, Case, F, Q, QuerySet, Value, When, Window
from django.db.models.expressions import RawSQL
from django.db.models.functions import RowNumber

from shop.search.models import Findable
from shop.search.rules import Kind, Question, question

MOST = 20  # of a kind on a page
_TRIGRAMS = "SELECT rowid FROM search_trigrams WHERE search_trigrams MATCH %s"


def matching(asked: str) -> QuerySet[Findable]:
    """Every thing that holds what is asked."""
    asks = question(asked)
    if not asks.words:
        return Findable.objects.none()
    every = Q(*(Q(words__contains=word) for word in asks.words))
    rows = Findable.objects.filter(every | _any(asks.others))
    if connection.vendor == "sqlite" and (match := _match(asks)):
        rows = rows.filter(pk__in=RawSQL(_TRIGRAMS, [match]))  # noqa: S611 - what is asked goes as a parameter
    return rows


def found(asked: str) -> list[Any]:
    """The first things of each kind that hold what is asked, one more than `MOST`: whole codes first, then the newest.

    Each row tells in `exact` whether what is asked is one of its codes.
    """
    asks = question(asked)
    if not asks.words:
        return []
    whole = Case(When(_any(asks.exact), then=Value(True)), default=Value(False), output_field=BooleanField())
    place = Window(RowNumber(), partition_by=F("kind"), order_by=[F("exact").desc(), F("pk").desc()])
    rows = matching(asked).annotate(exact=whole).annotate(place=place).filter(place__lte=MOST + 1)
    order = [kind.value for kind in Kind]
    return sorted(rows.defer("words"), key=lambda row: (order.index(row.kind), row.place))


def groups(rows: list[Any]) -> list[dict[str, Any]]:
    """What was found, as a page shows it: by kind, at most `MOST` of each, and whether there are more."""
    made = []
    for heading, each in groupby(rows, lambda row: row.heading):
        some = list(each)
        made.append({"heading": heading, "rows": some[:MOST], "more": len(some) > MOST})
    return made


def _any(parts: tuple[str, ...]) -> Q:
    return Q(*(Q(words__contains=part) for part in parts), _connector=Q.OR)


def _match(asks: Question) -> str:
    """The question for the full-text table; nothing when its fragments are too short for trigrams."""
    quoted = ['"' + word.replace('"', '""') + '"' for word in asks.words if len(word) >= 3]
    if not quoted:
        return ""
    others = ['"' + part.replace('"', '""') + '"' for part in asks.others]
    return " OR ".join([f"({' AND '.join(quoted)})", *others])
