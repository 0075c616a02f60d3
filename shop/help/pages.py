"""A page of help for each room, the API by example, and the first five steps for each role."""

from dataclasses import replace
from typing import Any

from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.help.rules import EXAMPLES, SITE, STEPS
from shop.staff.actions import put_tour_away
from shop.web.pages import ROOMS, FormPage, Page


class FirstSteps(FormPage):
    """Five steps for each role one has; they are offered at the door of a room until they are put away."""

    template, takes = "help/first_steps.html", Nothing

    def context(self, **kwargs: Any) -> dict[str, Any]:
        return {"roles": [(role, STEPS[role]) for role in self.by.role_list]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        put_tour_away(by=self.by)
        return reverse("front")


class ApiByExample(Page):
    template = "help/api.html"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        site = self.request.build_absolute_uri("/").rstrip("/")
        return {"examples": [replace(each, script=each.script.replace(SITE, site)) for each in EXAMPLES]}


urlpatterns = [
    path("help/api", ApiByExample.as_view(), name="api_by_example"),
    path("help/first-steps", FirstSteps.as_view(), name="first_steps"),
    *(
        path(f"help/{key}", Page.as_view(template=f"help/{key}.html", room=key), name=f"help_{key}")
        for key, _ in ROOMS
    ),
]
