"""The API's doors to terms and to rates of tax."""

from typing import Any

from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.money import actions
from shop.money.models import TaxRate
from shop.money.reads import terms
from shop.money.rules import Terms
from shop.money.shapes import RateIn, RateOut, ReckoningIn, ReckoningOut
from shop.staff.reads import require
from shop.staff.rules import Can


class TermsDoor(Door):
    @reads(ReckoningOut)
    def get(self, request: Request) -> Any:
        """Whether prices include tax, where tax is rounded, the usual rate."""
        require(self.by, Can.SEE)
        return terms()

    @verb(ReckoningIn, ReckoningOut, seen=True)
    def post(self, request: Request, data: Any, seen: int) -> Terms:
        """Say so."""
        return actions.change_terms(by=self.by, seen=seen, **data)


class Rates(Door):
    @reads(RateOut, many=True)
    def get(self, request: Request) -> Any:
        """Every rate of tax that was ever written down, newest first."""
        require(self.by, Can.SEE)
        return TaxRate.objects.order_by()

    @verb(RateIn, RateOut, creates=True)
    def post(self, request: Request, data: Any) -> TaxRate:
        """Write down a rate from a day on."""
        return actions.set_rate(by=self.by, **data)


urlpatterns = [
    path("reckoning", TermsDoor.as_view(), name="reckoning"),
    path("tax-rates", Rates.as_view(), name="tax_rates"),
]
