"""What to bring from site to site, and the form for a part's level at a site."""

from collections.abc import Mapping
from typing import Any

from django.urls import path, reverse

from shop.sites import actions
from shop.sites.models import SiteLevel
from shop.sites.reads import lacking, sites
from shop.sites.shapes import SiteLevelIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.stock.pages import PartPage
from shop.web.pages import Page
from shop.web.shapes import Form
from shop.workshop.reads import today


class ToBring(Page):
    """What each site lacks, and where it is to be had."""

    template, room = "sites/to_bring.html", "store"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"day": today(), "rows": lacking(today())}


class WatchAtSite(PartPage):
    takes, title = SiteLevelIn, "Level at a site"
    lead = "Both levels left open: it is not watched there."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"site": [(site, site) for site in sites()]}

    def seen(self) -> int:
        return self.part().version

    def start(self) -> Mapping[str, Any]:
        site = self.request.GET.get("site", "")
        row = SiteLevel.objects.filter(part=self.part(), site=site).first()
        return {
            "site": site,
            "minimum": "" if row is None or row.minimum is None else row.minimum,
            "up_to": "" if row is None or row.up_to is None else row.up_to,
        }

    def form(self, sent: Mapping[str, Any] | None = None, *args: Any, **kwargs: Any) -> Form:
        form = super().form(sent, *args, **kwargs)
        form.keep = f"{self.request.path}?site={(sent or self.request.GET).get('site', '')}"
        return form

    def back(self) -> str:
        return reverse("part", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.watch(by=self.by, part=self.part(), seen=seen or 0, **data)
        return self.back()


urlpatterns = [
    path("store/to-bring", ToBring.as_view(), name="to_bring"),
    path("store/parts/<uuid:uid>/site", WatchAtSite.as_view(), name="watch_at_site"),
]
