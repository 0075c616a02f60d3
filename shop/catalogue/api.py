"""The API's doors to models and plans: issued and withdrawn."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.catalogue import actions
from shop.catalogue.models import Model, PlanVersion
from shop.catalogue.reads import versions
from shop.catalogue.shapes import ModelIn, ModelOut, PlanIn, PlanOut, WithdrawalIn
from shop.staff.reads import require
from shop.staff.rules import Can


class Models(Door):
    @reads(ModelOut, many=True)
    def get(self, request: Request) -> Any:
        """Makers' models."""
        require(self.by, Can.SEE)
        return Model.objects.all()

    @verb(ModelIn, ModelOut, creates=True)
    def post(self, request: Request, data: Any) -> Model:
        """Add a model."""
        return actions.add_model(by=self.by, **data)


class Plans(Door):
    @reads(PlanOut, many=True)
    def get(self, request: Request) -> Any:
        """Every issued plan version, withdrawn ones too."""
        require(self.by, Can.SEE)
        return versions()


class OnePlan(Door):
    @reads(PlanOut)
    def get(self, request: Request, uid: UUID) -> PlanVersion:
        """One issued plan version."""
        require(self.by, Can.SEE)
        return get_object_or_404(versions(), uid=uid)


class ModelPlans(Door):
    @verb(PlanIn, PlanOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> PlanVersion:
        """Issue the next version of a model's plan."""
        return actions.issue_plan(by=self.by, model=get_object_or_404(Model, uid=uid), **data)


class Withdrawals(Door):
    @verb(WithdrawalIn, PlanOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> PlanVersion:
        """Withdraw an issued plan version."""
        return actions.withdraw_plan(by=self.by, plan=get_object_or_404(versions(), uid=uid), **data)


urlpatterns = [
    path("models", Models.as_view(), name="models"),
    path("models/<uuid:uid>/plans", ModelPlans.as_view(), name="model_plans"),
    path("plans/<uuid:uid>", OnePlan.as_view(), name="plan"),
    path("plans/<uuid:uid>/withdrawals", Withdrawals.as_view(), name="withdrawals"),
    path("plans", Plans.as_view(), name="plans"),
]
