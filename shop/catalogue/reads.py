"""Which plans work may begin on, and in what two plans differ."""

from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet

from shop.catalogue.models import PlanVersion
from shop.catalogue.rules import Difference, differences
from shop.workshop.reads import currency
from shop.workshop.rules import Refusal, refuse


def issuable() -> QuerySet[PlanVersion]:
    """Every issued version that has not been withdrawn."""
    return PlanVersion.objects.filter(withdrawal=None).select_related("model")


def newest(models: Iterable[Any]) -> list[PlanVersion]:
    """Of the models with these primary keys, the newest version of each plan that has not been withdrawn."""
    found = {}
    for version in issuable().filter(model__in=set(models)).order_by("n"):
        found[version.model_id, version.key] = version
    return list(found.values())


def compared(old: PlanVersion, new: PlanVersion) -> list[Difference]:
    """What changed between two versions; only plans of one kind of gear can be compared."""
    if old.model.kind != new.model.kind:
        refuse([Refusal("other-kind", "Plans of two kinds of gear cannot be compared.")])
    return differences(old.plan, new.plan, currency())
