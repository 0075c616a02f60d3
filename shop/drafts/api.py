"""The API's doors to drafts, and to what changed between two versions."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.catalogue.models import Model, PlanVersion
from shop.catalogue.reads import versions
from shop.catalogue.shapes import PlanIn, PlanOut
from shop.drafts import actions
from shop.drafts.models import Draft
from shop.drafts.reads import before, compared, drafts, others
from shop.drafts.shapes import DifferencesOut, DraftIn, DraftOut
from shop.staff.reads import require
from shop.staff.rules import Can


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
    path("models/<uuid:uid>/drafts", ModelDrafts.as_view(), name="model_drafts"),
    path("plans/<uuid:uid>/drafts", PlanDrafts.as_view(), name="plan_drafts"),
    path("plans/<uuid:uid>/differences", Differences.as_view(), name="differences"),
    path("drafts", Drafts.as_view(), name="drafts"),
    path("drafts/<uuid:uid>", OneDraft.as_view(), name="draft"),
    path("drafts/<uuid:uid>/issue", IssueDraft.as_view(), name="issue_draft"),
    path("drafts/<uuid:uid>/set-aside", SetAsideDraft.as_view(), name="set_aside_draft"),
]
