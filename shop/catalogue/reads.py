"""Issued plans, and on which of them work may begin."""

from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet

from shop.catalogue.models import PlanVersion


def issuable() -> QuerySet[PlanVersion]:
    """Every issued version that has not been withdrawn."""
    return PlanVersion.objects.filter(withdrawal=None).select_related("model")


def newest(models: Iterable[Any]) -> list[PlanVersion]:
    """Of the models with these primary keys, the newest version of each plan that has not been withdrawn."""
    found = {}
    for version in issuable().filter(model__in=set(models)).order_by("n"):
        found[version.model_id, version.key] = version
    return list(found.values())


def versions() -> QuerySet[PlanVersion]:
    """Issued versions with what an answer shows of each."""
    return PlanVersion.objects.select_related("model", "withdrawal__by")
