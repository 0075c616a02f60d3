"""The table of rules, which of them count here, and the rows that come with the house."""

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db.models import Q, QuerySet

from shop.intervals.models import Interval
from shop.intervals.rules import longest
from shop.workshop.reads import workshop
from shop.workshop.rules import Refusal

# By these a row that comes with the house is known again.
WHICH = ("place", "document", "section", "clock", "kind", "specification", "material", "use")


def followed() -> list[str]:
    """The places whose rules this workshop follows."""
    row = workshop()
    return list(row.places) if row else []


def in_force(places: Iterable[str] | None = None) -> list[Interval]:
    """The rules that count here; those of other places when `places` are given."""
    asked = followed() if places is None else places
    rows = Interval.objects.filter(in_force_at__isnull=False, withdrawn_at=None)
    return list(rows.filter(Q(place="") | Q(place__in=list(asked))).order_by("pk"))


@dataclass(frozen=True)
class Place:
    """Rules of one place, and whether it is followed."""

    name: str
    followed: bool
    rows: list[Interval]


def by_place() -> list[Place]:
    """Every rule that stands or is proposed: first without a place, then places that are followed, then the others."""
    known, rows = followed(), list(present())
    names = sorted({row.place for row in rows}, key=lambda name: (name != "", name not in known, name))
    return [Place(name, name in known, [row for row in rows if row.place == name]) for name in names]


def present() -> QuerySet[Interval]:
    return Interval.objects.filter(withdrawn_at=None).select_related("model")


def shipped() -> list[dict[str, Any]]:
    """The published rows that come with the house; a row without a figure is one whose figure was not found."""
    rows: list[dict[str, Any]] = json.loads((settings.ROOT / "fixtures" / "intervals.json").read_text())
    return rows


def shipped_missing() -> list[dict[str, Any]]:
    """Those of them that the table never had; what was withdrawn or replaced is not offered again."""
    had = Counter(Interval.objects.values_list(*WHICH))
    return [row for row in shipped() if tuple(row.get(name, "") for name in WHICH) not in had]


def propose_refusals(told: dict[str, Any], replaces: Interval | None) -> list[Refusal]:
    """Why a rule is not proposed."""
    found = []
    if told.get("model") is not None and told.get("kind", "") not in ("", told["model"].kind):
        found.append(Refusal("other-kind", "The model is of another kind of gear.", "kind"))
    if replaces is not None and replaces.withdrawn_at:
        found.append(
            Refusal("interval-withdrawn", "It was withdrawn or replaced: propose a rule of its own.")
        )
    most = longest(told.get("place", ""), told.get("kind", ""), told["clock"])
    if most and (told.get("months") or 0) > most:
        said = (
            f"No period of more than {most} months was found for cylinders that are breathed from under water. The "
            "longer ones of the tables (7, 10 or 12 years, the star) are not for underwater breathing."
        )
        found.append(Refusal("too-long", said, "months"))
    return found
