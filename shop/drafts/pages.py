"""The Office's pages where plans are written: the list of them, drafts, and two versions side by side."""

import json
from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.shapes import Nothing
from shop.catalogue.actions import issue_plan
from shop.catalogue.models import Model
from shop.catalogue.pages import PlanPage
from shop.catalogue.reads import newest
from shop.drafts import actions
from shop.drafts.models import Draft
from shop.drafts.reads import before, compared, drafts, others
from shop.drafts.rules import differences
from shop.drafts.shapes import DraftPageIn, PlanPageIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.workshop.reads import currency


class Models(Page):
    template, room = "drafts/models.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = list(Model.objects.prefetch_related("plans__withdrawal", "drafts").order_by("maker", "name"))
        begins = {version.pk for version in newest(row.pk for row in rows)}
        shown = [
            {
                "row": row,
                "drafts": [draft for draft in row.drafts.all() if draft.state == "draft"],
                "versions": [
                    {"row": version, "begins": version.pk in begins}
                    for version in sorted(row.plans.all(), key=lambda each: (each.key, -each.n))
                ],
            }
            for row in rows
        ]
        return {"models": shown, "may_keep": self.by.may(Can.KEEP_PLANS)}


class ComparePlans(PlanPage):
    """An issued version beside another of the same kind of gear; at first beside the version before it."""

    template = "drafts/compare.html"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        new, asked = self.version, self.request.GET.get("old", "")
        found = others(new)
        old = next((each for each in found if str(each.uid) == asked), None) if asked else before(new)
        return {"new": new, "others": found, "old": old, "differences": compared(old, new) if old else []}


class CopyPlan(PlanPage, FormPage):
    takes, title, room, button = Nothing, "Copy into a draft", "office", "Copy it"
    lead = "The version stays as it is; the draft becomes the next version once it is issued."

    def back(self) -> str:
        return reverse("plan", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("draft", args=[actions.copy_plan(by=self.by, plan=self.version).uid])


class IssuePlan(FormPage):
    takes, title, room, button, cancel = PlanPageIn, "Issue a plan", "office", "Issue it", "models"
    lead = "Once issued a plan is frozen: check it against the maker's instructions first."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = issue_plan(by=self.by, model=get_object_or_404(Model, uid=self.kwargs["uid"]), **data)
        return reverse("plan", args=[row.uid])


class NewDraft(FormPage):
    takes, title, room, button, cancel = PlanPageIn, "New draft", "office", "Keep the draft", "models"
    lead = "A draft needs the shape of a plan; what does not hang together yet is listed beside it."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.make_draft(by=self.by, model=get_object_or_404(Model, uid=self.kwargs["uid"]), **data)
        return reverse("draft", args=[row.uid])


class DraftPage(FormPage):
    """A page about one draft."""

    room = "office"

    @property
    def draft(self) -> Draft:
        return get_object_or_404(drafts(), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("draft", args=[self.kwargs["uid"]])

    def seen(self) -> int:
        return self.draft.version


class OneDraft(DraftPage):
    template, takes, button = "drafts/draft.html", DraftPageIn, "Keep the draft"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        draft = self.draft
        return {"draft": draft, "checks": draft.refusals, "may_keep": self.by.may(Can.KEEP_PLANS)}

    def back(self) -> str:
        return reverse("models")

    def start(self) -> Mapping[str, Any]:
        return {"document": json.dumps(self.draft.document, indent=1, ensure_ascii=False)}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_draft(by=self.by, draft=self.draft, seen=seen or 0, **data)
        return reverse("draft", args=[self.kwargs["uid"]])


class IssueDraft(DraftPage):
    template, takes, title, button = "drafts/issue_draft.html", Nothing, "Issue the draft", "Issue it"
    lead = "Once issued a plan is frozen: check it against the maker's instructions first."

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        draft = self.draft
        last = draft.model.plans.filter(key=draft.key).order_by("-n").first()
        found = differences(last.plan, draft.plan, currency()) if last else []
        return {"draft": draft, "last": last, "differences": found}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.issue_draft(by=self.by, draft=self.draft, seen=seen or 0)
        return reverse("plan", args=[row.uid])


class SetAsideDraft(DraftPage):
    takes, title, button = Nothing, "Set the draft aside", "Set it aside"
    lead = "It stays to be read, and is not gone on with."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_aside_draft(by=self.by, draft=self.draft, seen=seen or 0)
        return self.back()


urlpatterns = [
    path("office/models", Models.as_view(), name="models"),
    path("office/models/<uuid:uid>/issue", IssuePlan.as_view(), name="issue_plan"),
    path("office/models/<uuid:uid>/draft", NewDraft.as_view(), name="new_draft"),
    path("office/plans/<uuid:uid>/copy", CopyPlan.as_view(), name="copy_plan"),
    path("office/plans/<uuid:uid>/compare", ComparePlans.as_view(), name="compare_plans"),
    path("office/drafts/<uuid:uid>", OneDraft.as_view(), name="draft"),
    path("office/drafts/<uuid:uid>/issue", IssueDraft.as_view(), name="issue_draft"),
    path("office/drafts/<uuid:uid>/set-aside", SetAsideDraft.as_view(), name="set_aside_draft"),
]
