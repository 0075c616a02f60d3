"""The API's doors to models and plans: drafted, issued, compared, withdrawn."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.catalogue import actions
from shop.catalogue.models import Draft, Model, PlanVersion
from shop.catalogue.reads import before, compared, others
from shop.catalogue.shapes import (
    DifferencesOut,
    DraftIn,
    DraftOut,
    ModelIn,
    ModelOut,
    PlanIn,
    PlanOut,
    WithdrawalIn,
)
from shop.staff.reads import require
from shop.staff.rules import Can


def versions() -> QuerySet[PlanVersion]:
    """Issued versions with what an answer shows of each."""
    return PlanVersion.objects.select_related("model", "withdrawal__by")


def drafts() -> QuerySet[Draft]:
    """Drafts with what an answer shows of each."""
    return Draft.objects.select_related("model", "made_by", "issued_as")


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


class Differences(Door):
    @reads(DifferencesOut, filters=("old",))
    def get(self, request: Request, uid: UUID) -> Any:
        """What changed to a plan version from the one before it, or from `old`, the uid of another for that kind of gear."""
        require(self.by, Can.SEE)
        new = get_object_or_404(versions(), uid=uid)
        asked = request.query_params.get("old", "")
        old = next((each for each in others(new) if str(each.uid) == asked), None) if asked else before(new)
        if asked and old is None:
            raise ValidationError({"old": "There is no such version for this kind of gear."})
        return {"old": old.uid if old else None, "differences": compared(old, new) if old else []}


class ModelDrafts(Door):
    @verb(PlanIn, DraftOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Draft:
        """Begin a draft of a model's plan; it need not hang together yet."""
        return actions.make_draft(by=self.by, model=get_object_or_404(Model, uid=uid), **data)


class PlanDrafts(Door):
    @verb(Nothing, DraftOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Draft:
        """Copy an issued plan version into a draft."""
        return actions.copy_plan(by=self.by, plan=get_object_or_404(versions(), uid=uid))


class Drafts(Door):
    @reads(DraftOut, many=True)
    def get(self, request: Request) -> Any:
        """Every draft, issued and set-aside ones too."""
        require(self.by, Can.SEE)
        return drafts()


class OneDraft(Door):
    @reads(DraftOut)
    def get(self, request: Request, uid: UUID) -> Draft:
        """One draft, with why it cannot be issued as it stands."""
        require(self.by, Can.SEE)
        return get_object_or_404(drafts(), uid=uid)

    @verb(DraftIn, DraftOut, seen=True)
    def put(self, request: Request, uid: UUID, data: Any, seen: int) -> Draft:
        """Put another document in a draft."""
        return actions.change_draft(by=self.by, draft=get_object_or_404(drafts(), uid=uid), seen=seen, **data)


class IssueDraft(Door):
    @verb(Nothing, PlanOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> PlanVersion:
        """Issue a draft as the next version of its plan."""
        return actions.issue_draft(by=self.by, draft=get_object_or_404(drafts(), uid=uid), seen=seen)


class SetAsideDraft(Door):
    @verb(Nothing, DraftOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Draft:
        """Set a draft aside."""
        return actions.set_aside_draft(by=self.by, draft=get_object_or_404(drafts(), uid=uid), seen=seen)


urlpatterns = [
    path("models", Models.as_view(), name="models"),
    path("models/<uuid:uid>/plans", ModelPlans.as_view(), name="model_plans"),
    path("models/<uuid:uid>/drafts", ModelDrafts.as_view(), name="model_drafts"),
    path("plans/<uuid:uid>", OnePlan.as_view(), name="plan"),
    path("plans/<uuid:uid>/drafts", PlanDrafts.as_view(), name="plan_drafts"),
    path("plans/<uuid:uid>/withdrawals", Withdrawals.as_view(), name="withdrawals"),
    path("plans/<uuid:uid>/differences", Differences.as_view(), name="differences"),
    path("plans", Plans.as_view(), name="plans"),
    path("drafts", Drafts.as_view(), name="drafts"),
    path("drafts/<uuid:uid>", OneDraft.as_view(), name="draft"),
    path("drafts/<uuid:uid>/issue", IssueDraft.as_view(), name="issue_draft"),
    path("drafts/<uuid:uid>/set-aside", SetAsideDraft.as_view(), name="set_aside_draft"),
]
