"""The Office's pages of a model and of an issued plan."""

from functools import cached_property
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.catalogue import actions
from shop.catalogue.models import PlanVersion
from shop.catalogue.reads import versions
from shop.catalogue.shapes import ModelIn, WithdrawalIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page, panels
from shop.workshop.reads import currency
from shop.workshop.rules import money


class PlanPage(Page):
    """A page about one issued version."""

    room = "office"

    @cached_property
    def version(self) -> PlanVersion:
        return get_object_or_404(versions(), uid=self.kwargs["uid"])


class OnePlan(PlanPage):
    template = "catalogue/plan.html"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        version, code = self.version, currency()
        return {
            "version": version,
            "plan": version.plan,
            "price": f"{money(version.plan.price, code)} {code}",
            "may_keep": self.by.may(Can.KEEP_PLANS),
            "may_doubt": self.by.may(Can.DOUBT),
            "panels": panels("plan", version),
        }


class WithdrawPlan(PlanPage, FormPage):
    takes, title, room, button = WithdrawalIn, "Withdraw the plan", "office", "Withdraw it"
    lead = "No work begins on a withdrawn version any more. A withdrawal is not taken back: issue the next version instead."

    def back(self) -> str:
        return reverse("plan", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.withdraw_plan(by=self.by, plan=self.version, **data)
        return self.back()


class NewModel(FormPage):
    takes, title, room, button, cancel = ModelIn, "New model", "office", "Add it", "models"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_model(by=self.by, **data)
        return reverse("models")


urlpatterns = [
    path("office/models/new", NewModel.as_view(), name="new_model"),
    path("office/plans/<uuid:uid>", OnePlan.as_view(), name="plan"),
    path("office/plans/<uuid:uid>/withdraw", WithdrawPlan.as_view(), name="withdraw_plan"),
]
