"""The API's doors to estimates, go-aheads and supplements."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from jobs.estimates import actions
from jobs.estimates.models import Charge, GoAhead
from jobs.estimates.reads import Estimate, estimate, waiting
from jobs.estimates.shapes import (
    ChargeIn,
    ChargeOut,
    EstimateOut,
    GoAheadIn,
    GoAheadOut,
    PlanPriceIn,
    SupplementAnswerIn,
    SupplementIn,
    WaitingList,
)
from jobs.flow.models import DropOff, Job
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.files.models import Photograph
from shop.files.reads import photographs
from shop.gear.shapes import PhotographIn, PhotographOut
from shop.money.reads import terms
from shop.staff.reads import require
from shop.staff.rules import Can


class GoAheads(Door):
    @verb(GoAheadIn, GoAheadOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> GoAhead:
        """Take a go-ahead for a drop-off."""
        return actions.take_go_ahead(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), **data)


class EstimateDoor(Door):
    @reads(EstimateOut)
    def get(self, request: Request, uid: UUID) -> Estimate:
        """The lines of a drop-off and what they come to, by payer and by rate."""
        require(self.by, Can.SEE)
        return estimate(get_object_or_404(DropOff, uid=uid))


def the_charge(uid: UUID) -> Charge:
    """A line of an estimate."""
    rows = Charge.objects.select_related("drop_off__customer__merged_into", "job", "plan_version")
    return get_object_or_404(rows, uid=uid)


class Charges(Door):
    @verb(ChargeIn, ChargeOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Charge:
        """Put a line on the estimate of a drop-off."""
        return actions.add_charge(by=self.by, drop_off=get_object_or_404(DropOff, uid=uid), **data)


class PlanPrices(Door):
    @verb(PlanPriceIn, ChargeOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Charge:
        """Say who pays for a plan of a job, and with which discount."""
        return actions.price_plan(by=self.by, job=get_object_or_404(Job, uid=uid), **data)


class TakeOff(Door):
    @verb(Nothing, ChargeOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Charge:
        """Take a line off an estimate."""
        return actions.take_off_charge(by=self.by, charge=the_charge(uid), seen=seen)


class Need(Door):
    @verb(Nothing, ChargeOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Charge:
        """Say that what was likely was needed."""
        return actions.need_charge(by=self.by, charge=the_charge(uid), seen=seen)


class AskSupplement(Door):
    @verb(SupplementIn, ChargeOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Charge:
        """Ask the customer for more; the job is held until the answer is written down."""
        return actions.ask_supplement(by=self.by, job=get_object_or_404(Job, uid=uid), **data)


class OneCharge(Door):
    @reads(ChargeOut)
    def get(self, request: Request, uid: UUID) -> Charge:
        """One line of an estimate."""
        require(self.by, Can.SEE)
        return the_charge(uid)


class Answer(Door):
    @verb(SupplementAnswerIn, ChargeOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Charge:
        """Write down what the customer said to a supplement."""
        return actions.answer_supplement(by=self.by, charge=the_charge(uid), seen=seen, **data)


class Supplements(Door):
    @reads(WaitingList)
    def get(self, request: Request) -> Any:
        """The supplements that wait for an answer, the oldest first."""
        require(self.by, Can.SEE)
        return {"supplements": waiting(terms().nudge_days)}


class ChargePhotographs(Door):
    parser_classes = [MultiPartParser]

    @reads(PhotographOut, many=True)
    def get(self, request: Request, uid: UUID) -> QuerySet[Photograph]:
        """The photographs of a supplement, newest first."""
        require(self.by, Can.SEE)
        return photographs([the_charge(uid).cause])

    @verb(PhotographIn, PhotographOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Photograph:
        """Keep a photograph of what a supplement is about."""
        return actions.photograph_charge(by=self.by, charge=the_charge(uid), **data)


urlpatterns = [
    path("drop-offs/<uuid:uid>/go-aheads", GoAheads.as_view(), name="go_aheads"),
    path("drop-offs/<uuid:uid>/estimate", EstimateDoor.as_view(), name="estimate"),
    path("drop-offs/<uuid:uid>/charges", Charges.as_view(), name="charges"),
    path("jobs/<uuid:uid>/plan-prices", PlanPrices.as_view(), name="price_plan"),
    path("jobs/<uuid:uid>/supplements", AskSupplement.as_view(), name="ask_supplement"),
    path("supplements", Supplements.as_view(), name="supplements"),
    path("charges/<uuid:uid>", OneCharge.as_view(), name="charge"),
    path("charges/<uuid:uid>/take-off", TakeOff.as_view(), name="take_off_charge"),
    path("charges/<uuid:uid>/need", Need.as_view(), name="need_charge"),
    path("charges/<uuid:uid>/answer", Answer.as_view(), name="answer_supplement"),
    path("charges/<uuid:uid>/photographs", ChargePhotographs.as_view(), name="charge_photographs"),
]
