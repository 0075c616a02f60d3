"""The forms about alternatives of a part; they stand on the page of the part."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.alternatives import actions
from shop.alternatives.models import Alternative
from shop.alternatives.shapes import AlternativeEndIn, AlternativeIn
from shop.stock.models import Part
from shop.web.pages import FormPage


class NewAlternative(FormPage):
    takes, title, room, button = AlternativeIn, "Approve an alternative", "store", "Approve it"
    lead = "Only what its maker or another authority names; a size alone makes no part fit."

    def part(self) -> Part:
        return get_object_or_404(Part, uid=self.kwargs["uid"])

    def about(self) -> str:
        return f"In the place of {self.part()}"

    def back(self) -> str:
        return reverse("part", args=[self.kwargs["uid"]])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        rows = Part.objects.exclude(uid=self.kwargs["uid"]).order_by("number")
        return {"other": [(row.uid, str(row)) for row in rows]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.approve(by=self.by, part=self.part(), **data)
        return self.back()


class EndAlternative(FormPage):
    takes, title, room, button = AlternativeEndIn, "End an alternative", "store", "End it"

    def row(self) -> Alternative:
        return get_object_or_404(Alternative.objects.select_related("part", "other"), uid=self.kwargs["uid"])

    def about(self) -> str:
        return self.row().told

    def back(self) -> str:
        return reverse("part", args=[self.row().part.uid])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.end_alternative(by=self.by, alternative=self.row(), **data)
        return self.back()


urlpatterns = [
    path("store/parts/<uuid:uid>/alternatives/new", NewAlternative.as_view(), name="new_alternative"),
    path("store/alternatives/<uuid:uid>/end", EndAlternative.as_view(), name="end_alternative"),
]
