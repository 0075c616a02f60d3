"""The API's doors to likely causes."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.advice import actions
from shop.advice.models import Advice
from shop.advice.shapes import AdviceIn, AdviceOut, TakenOut
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.staff.reads import require
from shop.staff.rules import Can


class ManyAdvice(Door):
    @reads(AdviceOut, many=True)
    def get(self, request: Request) -> Any:
        """Likely causes, withdrawn ones too; advice of the trade, never a finding."""
        require(self.by, Can.SEE)
        return Advice.objects.all()

    @verb(AdviceIn, AdviceOut, creates=True)
    def post(self, request: Request, data: Any) -> Advice:
        """Add a likely cause."""
        return actions.add_advice(by=self.by, **data)


class OneAdvice(Door):
    @reads(AdviceOut)
    def get(self, request: Request, uid: UUID) -> Advice:
        """One likely cause."""
        require(self.by, Can.SEE)
        return get_object_or_404(Advice, uid=uid)

    @verb(AdviceIn, AdviceOut, seen=True)
    def put(self, request: Request, uid: UUID, data: Any, seen: int) -> Advice:
        """Change a likely cause."""
        return actions.change_advice(by=self.by, advice=get_object_or_404(Advice, uid=uid), seen=seen, **data)


class WithdrawAdvice(Door):
    @verb(Nothing, AdviceOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Advice:
        """Show a likely cause no more."""
        return actions.withdraw_advice(by=self.by, advice=get_object_or_404(Advice, uid=uid), seen=seen)


class ShippedAdvice(Door):
    @verb(Nothing, TakenOut)
    def post(self, request: Request, data: Any) -> Any:
        """Add the rows that come with the house and that the table never had; at once again it adds none."""
        return {"added": actions.take_shipped(by=self.by)}


urlpatterns = [
    path("advice", ManyAdvice.as_view(), name="many_advice"),
    path("advice/shipped", ShippedAdvice.as_view(), name="shipped_advice"),
    path("advice/<uuid:uid>", OneAdvice.as_view(), name="advice"),
    path("advice/<uuid:uid>/withdrawal", WithdrawAdvice.as_view(), name="withdraw_advice"),
]
