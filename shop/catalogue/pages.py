"""The Office's pages of models and plans."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.catalogue import actions
from shop.catalogue.models import Model, PlanVersion
from shop.catalogue.shapes import ModelIn, PlanPageIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.workshop.reads import currency
from shop.workshop.rules import money


class Models(Page):
    template, room = "catalogue/models.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        models = Model.objects.prefetch_related("plans").order_by("maker", "name")
        return {"models": models, "may_keep": self.by.may(Can.KEEP_PLANS)}


class OnePlan(Page):
    template, room = "catalogue/plan.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        version = get_object_or_404(PlanVersion.objects.select_related("model"), uid=kwargs["uid"])
        code = currency()
        return {
            "version": version,
            "plan": version.plan,
            "price": f"{money(version.plan.price, code)} {code}",
        }


class NewModel(FormPage):
    takes, title, room, button, cancel = ModelIn, "New model", "office", "Add it", "models"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_model(by=self.by, **data)
        return reverse("models")


class IssuePlan(FormPage):
    takes, title, room, button, cancel = PlanPageIn, "Issue a plan", "office", "Issue it", "models"
    lead = "Once issued a plan is frozen: check it against the maker's instructions first."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.issue_plan(by=self.by, model=get_object_or_404(Model, uid=self.kwargs["uid"]), **data)
        return reverse("plan", args=[row.uid])


urlpatterns = [
    path("office/models", Models.as_view(), name="models"),
    path("office/models/new", NewModel.as_view(), name="new_model"),
    path("office/models/<uuid:uid>/issue", IssuePlan.as_view(), name="issue_plan"),
    path("office/plans/<uuid:uid>", OnePlan.as_view(), name="plan"),
]
