"""Which plans work may begin on, and in what two plans differ."""

from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet

from shop.catalogue.models import PlanVersion
from shop.catalogue.rules import Difference, differences
from shop.workshop.reads import currency


def issuable() -> QuerySet[PlanVersion]:
    """Every issued version that has not been withdrawn."""
    return PlanVersion.objects.filter(withdrawal=None).select_related("model")


def newest(models: Iterable[Any]) -> list[PlanVersion]:
    """Of the models with these primary keys, the newest version of each plan that has not been withdrawn."""
    found = {}
    for version in issuable().filter(model__in=set(models)).order_by("n"):
        found[version.model_id, version.key] = version
    return list(found.values())


def others(version: PlanVersion) -> list[PlanVersion]:
    """Every other version for the same kind of gear, those of the same plan first and the newest of a plan first."""
    rows = PlanVersion.objects.filter(model__kind=version.model.kind).exclude(pk=version.pk)
    return sorted(
        rows.select_related("model"),
        key=lambda each: (
            each.model_id != version.model_id,
            each.key != version.key,
            str(each.model),
            each.key,
            -each.n,
        ),
    )


def before(version: PlanVersion) -> PlanVersion | None:
    """The version of the same plan that came before, if it is not the first."""
    rows = PlanVersion.objects.filter(model=version.model_id, key=version.key, n__lt=version.n)
    return rows.select_related("model").order_by("-n").first()


def compared(old: PlanVersion, new: PlanVersion) -> list[Difference]:
    """What changed from one version to another."""
    return differences(old.plan, new.plan, currency())
