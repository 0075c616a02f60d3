"""The page of the find box."""

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import path

from shop.search.reads import exactly, group, groups
from shop.search.rules import MOST_ASKED
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import Page, panels


class Find(Page):
    """What was found, by kind; the whole code of one thing leads straight to its page."""

    template = "search/find.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        sought = request.GET.get("q", "").replace("\0", "").strip()[:MOST_ASKED]
        exact = exactly(sought)
        if len(exact) == 1:
            return HttpResponseRedirect(exact[0].address)
        found = [group("With exactly this code", exact)] if exact else []
        return self.show(sought=sought, groups=found + groups(sought), panels=panels("find", sought))


urlpatterns = [path("find", Find.as_view(), name="find")]
