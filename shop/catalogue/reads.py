"""Issued plans, and on which of them work may begin."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from shop.catalogue.models import PlanVersion
from shop.catalogue.rules import Plan


@dataclass(frozen=True)
class Pinned:
    """An issued version as a list of jobs looks at it."""

    uid: UUID
    key: str
    plan: Plan
    withdrawn: bool


def plan_of(pk: int, digest: str) -> Plan:
    """The plan of a version; its document is fetched only where this process has not read it yet."""
    return PlanVersion.from_db(None, ["id", "digest"], [pk, digest]).plan


def issuable() -> QuerySet[PlanVersion]:
    """Every issued version that has not been withdrawn."""
    return PlanVersion.objects.filter(withdrawal=None).select_related("model")


def newest(models: Iterable[Any]) -> list[PlanVersion]:
    """Of the models with these primary keys, the newest version of each plan that has not been withdrawn."""
    found = {}
    for version in issuable().filter(model__in=set(models)).order_by("n"):
        found[version.model_id, version.key] = version
    return list(found.values())


def renewed(plan: Plan) -> Counter[str]:
    """The stocked parts that a plan renews."""
    found: Counter[str] = Counter()
    for part in plan.parts:
        if part.renew:
            found[part.renew] += part.count
    return found


def versions() -> QuerySet[PlanVersion]:
    """Issued versions with what an answer shows of each."""
    return PlanVersion.objects.select_related("model", "withdrawal__by")
