"""The Office's table of rules for how often gear must come again."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.catalogue.models import Model
from shop.gases.rules import percent
from shop.intervals import actions
from shop.intervals.models import Interval
from shop.intervals.reads import by_place, shipped_missing
from shop.intervals.shapes import IntervalIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form

SELDOM = ("specification", "material", "use", "oxygen_above", "anchor", "month_end", "grace_days", "words")


class Intervals(Page):
    template, room = "intervals/table.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        may_keep = self.by.may(Can.KEEP_PLANS)
        missing = len(shipped_missing()) if may_keep else 0
        return {"places": by_place(), "missing": missing, "may_keep": may_keep}


class NewInterval(FormPage):
    takes, title, room, button, cancel = IntervalIn, "New rule", "office", "Propose it", "intervals"
    lead = "It counts once it is put in force; before that you are shown which dates would move. The shortest that applies wins."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        models = Model.objects.order_by("maker", "name", "kind")
        return {"model": [(model.uid, f"{model}, {model.kind_label}") for model in models]}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.fold(SELDOM, "For some gear only, last day of the month, grace")
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.propose(by=self.by, **data)
        return reverse("force_interval", args=[row.uid])


class OfInterval:
    """A page about one rule."""

    kwargs: dict[str, Any]

    def interval(self) -> Interval:
        return get_object_or_404(Interval.objects.select_related("model"), uid=self.kwargs["uid"])


class ReplaceInterval(OfInterval, NewInterval):
    title = "Change a rule"
    lead = "What you save is a rule of its own, which takes the place of this one once it is put in force."

    def about(self) -> str:
        row = self.interval()
        return f"{row}, {row.said}. {row.words}"

    def start(self) -> Mapping[str, Any]:
        row = self.interval()
        names = [str(name) for name in IntervalIn().fields if name not in ("model", "oxygen_above")]  # type: ignore[comparison-overlap]  # the stubs take names for fields
        kept = {name: "" if (value := getattr(row, name)) is None else value for name in names}
        share = "" if row.oxygen_above is None else percent(row.oxygen_above).removesuffix(" %")
        return kept | {"model": row.model.uid if row.model else "", "oxygen_above": share}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.propose(by=self.by, replaces=self.interval(), **data)
        return reverse("force_interval", args=[row.uid])


class SetAside(OfInterval, FormPage):
    takes, title, room, button, cancel = (
        Nothing,
        "Set a proposed rule aside",
        "office",
        "Set it aside",
        "intervals",
    )

    def seen(self) -> int:
        return self.interval().version

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        return super().show(
            status, template, **more | {"lead": f"{self.interval()}. The row stays on record."}
        )

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_aside(by=self.by, interval=self.interval(), seen=seen or 0)
        return reverse("intervals")


class ShippedIntervals(FormPage):
    takes, title, room, button, cancel = Nothing, "Published rules that come with the house", "office", "Add them", "intervals"  # fmt: skip
    lead = "Each says how sure it is. A figure that was not found is an empty row for you to fill in. None counts until you follow its place."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_shipped(by=self.by)
        return reverse("intervals")


urlpatterns = [
    path("office/intervals", Intervals.as_view(), name="intervals"),
    path("office/intervals/new", NewInterval.as_view(), name="new_interval"),
    path("office/intervals/shipped", ShippedIntervals.as_view(), name="shipped_intervals"),
    path("office/intervals/<uuid:uid>/change", ReplaceInterval.as_view(), name="replace_interval"),
    path("office/intervals/<uuid:uid>/set-aside", SetAside.as_view(), name="set_aside_interval"),
]
