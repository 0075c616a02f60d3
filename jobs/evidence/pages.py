"""The pages of evidence: the list, one item with its custody and photographs, and its record as an archive."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.evidence import actions
from jobs.evidence.api import archive
from jobs.evidence.reads import custody_of, holds, one_hold
from jobs.evidence.rules import CAUTIONS, RE_ENCODED, SHOWS, WHENCE
from jobs.evidence.shapes import EvidenceCustodyIn, EvidenceIn
from jobs.flow.models import Hold
from shop.api.shapes import Nothing
from shop.files.reads import shown
from shop.gear.models import Item
from shop.gear.pages import NewPhotograph
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page

MOST_LIFTED = 50


class AllEvidence(Page):
    template, room = "evidence/all.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = holds()
        return {
            "standing": list(rows.filter(lifted_at=None).order_by("pk")),
            "lifted": list(rows.exclude(lifted_at=None).order_by("-lifted_at")[:MOST_LIFTED]),
            "cautions": CAUTIONS,
            "whence": WHENCE,
            "may_hold": self.by.may(Can.HOLD),
        }


class Keep(FormPage):
    takes, title, room, button = EvidenceIn, "Keep as evidence", "counter", "Keep it as evidence"
    lead = (
        "Nobody opens it, pressurises it, works on it, moves its job or hands it back, nor what belongs to a set with it, "
        "until the lead and a second person release it."
    )

    @cached_property
    def item(self) -> Item:
        return get_object_or_404(Item.objects.select_related("model"), uid=self.kwargs["uid"])

    def about(self) -> str:
        return f"{self.item.title}, {self.item.label}. {CAUTIONS[0]} {CAUTIONS[1]} ({WHENCE})"

    def start(self) -> Mapping[str, Any]:
        return {"where": "here"}

    def back(self) -> str:
        return reverse("item", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        hold = actions.keep_as_evidence(by=self.by, item=self.item, **data)
        return reverse("one_evidence", args=[hold.uid])


class OneEvidence(Page):
    template, room = "evidence/one.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        hold = one_hold(kwargs["uid"])
        add = reverse("photograph_evidence", args=[hold.uid]) if self.by.may(Can.KEEP_CUSTODY) else ""
        return {
            "hold": hold,
            "custody": custody_of(hold),
            "photographs": shown([f"evidence:{hold.uid}"]),
            "photograph_url": add,
            "cautions": CAUTIONS,
            "whence": WHENCE,
            "shows": SHOWS,
            "re_encoded": RE_ENCODED,
            "may_keep": self.by.may(Can.KEEP_CUSTODY),
            "may_release": self.by.may(Can.LIFT_EVIDENCE),
        }


class OfEvidence(FormPage):
    """The base of the forms about one hold."""

    room = "counter"

    @cached_property
    def hold(self) -> Hold:
        return one_hold(self.kwargs["uid"])

    def back(self) -> str:
        return reverse("one_evidence", args=[self.kwargs["uid"]])


class PassOn(OfEvidence):
    takes, title, button = EvidenceCustodyIn, "It passes on", "Write it down"
    lead = "Look at each seal, and say what you saw. Given to an authority it is still evidence: this is no hand-back."

    def about(self) -> str:
        last = list(self.hold.custody.all())[-1]
        item = self.hold.item
        assert item is not None
        return f"{item.title}, {item.label}. Last with: {last.holder}. Seals on it then: {last.intact or 'none'}."

    def start(self) -> Mapping[str, Any]:
        last = list(self.hold.custody.all())[-1]
        return {"giver": last.holder}  # not the seals: each is looked at and then named

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.pass_evidence_on(by=self.by, hold=self.hold, **data)
        return self.back()


class NewEvidencePhotograph(NewPhotograph):
    room = "counter"
    lead = RE_ENCODED

    def back(self) -> str:
        return reverse("one_evidence", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.photograph_evidence(by=self.by, hold=one_hold(self.kwargs["uid"]), **data)
        return self.back() + "#photographs"


class TakeOut(OfEvidence):
    takes, title, button = Nothing, "Take the record of evidence out", "Take it out"
    needs = Can.LIFT_EVIDENCE
    lead = (
        "One archive: the record with the workshop's signature, every photograph, the item's closed records, and the rows of "
        "the journal with their hashes. It names people and is journalled."
    )

    def about(self) -> str:
        return " ".join(SHOWS)

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        answer: HttpResponse = archive(self.by, self.hold)  # type: ignore[assignment]  # a file is sent as it is read
        return answer


urlpatterns = [
    path("evidence", AllEvidence.as_view(), name="all_evidence"),
    path("items/<uuid:uid>/evidence", Keep.as_view(), name="evidence"),
    path("evidence/<uuid:uid>", OneEvidence.as_view(), name="one_evidence"),
    path("evidence/<uuid:uid>/custody", PassOn.as_view(), name="evidence_custody"),
    path("evidence/<uuid:uid>/photographs/new", NewEvidencePhotograph.as_view(), name="photograph_evidence"),
    path("evidence/<uuid:uid>/take-out", TakeOut.as_view(), name="take_evidence_out"),
]
