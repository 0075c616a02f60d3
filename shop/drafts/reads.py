"""Drafts, in what two plans differ, and what a plan's page offers of both."""

from typing import Any
from uuid import uuid4

from django.db.models import QuerySet
from django.urls import reverse

from shop.catalogue.models import PlanVersion
from shop.drafts.models import Draft
from shop.drafts.rules import Difference, differences
from shop.web.shapes import Form
from shop.workshop.reads import currency


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


def drafts() -> QuerySet[Draft]:
    """Drafts with what an answer shows of each."""
    return Draft.objects.select_related("model", "made_by", "issued_as")


def plan_panel(version: PlanVersion) -> tuple[str, dict[str, Any]]:
    """On the page of an issued version: the way to compare it, and a click that copies it."""
    to, once = reverse("copy_plan", args=[version.uid]), {"name": "once", "value": uuid4()}
    return "drafts/plan_panel.html", {"version": version, "copy": Form(to, "Copy into a draft", [], [once])}
