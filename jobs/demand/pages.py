"""The need ahead: what will be needed, what is proposed, and why."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import BadRequest
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.ahead.rules import PRIOR
from jobs.demand.actions import draft_proposed
from jobs.demand.reads import one_ahead, outlook
from jobs.demand.rules import LEVELS, REVIEW, SHOWN
from jobs.demand.shapes import LevelIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.suppliers.models import Supplier
from shop.web.pages import FormPage, Page
from shop.workshop.rules import in_unit


class AheadPage(Page):
    """The base of the pages at a service level."""

    room = "store"

    def level(self) -> int:
        shape = LevelIn(data=self.request.GET)
        if not shape.is_valid():
            raise BadRequest("The need ahead has no such service level.")
        return int(shape.validated_data["level"])

    def known(self, level: int) -> dict[str, Any]:
        return {
            "level": level,
            "levels": LEVELS,
            "review": REVIEW,
            "shown": SHOWN,
            "prior": PRIOR,
            "may_keep": self.by.may(Can.KEEP_STOCK),
        }


class NeedAhead(AheadPage):
    template = "demand/need_ahead.html"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        level = self.level()
        return self.known(level) | {"outlook": outlook(level)}


class PartAhead(AheadPage):
    """One part, with the picture of its weeks."""

    template = "demand/part_ahead.html"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        level = self.level()
        found, row = one_ahead(kwargs["uid"], level)
        return self.known(level) | {"outlook": found, "row": row}


class DraftProposed(FormPage):
    takes, title, room, button, cancel = (
        LevelIn,
        "Put it on the draft order",
        "store",
        "Put it there",
        "need_ahead",
    )
    lead = "Nothing is sent by this: look at the draft, change it if need be, then send it."

    def supplier(self) -> Supplier:
        return get_object_or_404(Supplier, uid=self.kwargs["uid"])

    def start(self) -> Mapping[str, Any]:
        shape = LevelIn(data=self.request.GET)
        return {"level": shape.validated_data["level"]} if shape.is_valid() else {}

    def about(self) -> str:
        asked, supplier = self.start().get("level"), self.supplier()
        if asked is None:
            return f"{supplier}"
        lines = [
            f"{offer.part.number}: {packs} pack{'' if packs == 1 else 's'} of {in_unit(offer.pack_size, offer.part.unit)}"
            for offer, packs in outlook(int(asked)).proposed(supplier)
        ]
        return f"{supplier}, at {asked} %: {'; '.join(lines) or 'nothing is proposed'}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        order = draft_proposed(by=self.by, supplier=self.supplier(), **data)
        return reverse("order", args=[order.uid])


urlpatterns = [
    path("store/need-ahead", NeedAhead.as_view(), name="need_ahead"),
    path("store/parts/<uuid:uid>/need-ahead", PartAhead.as_view(), name="part_ahead"),
    path("store/suppliers/<uuid:uid>/proposed", DraftProposed.as_view(), name="draft_proposed"),
]
