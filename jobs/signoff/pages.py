"""The page to sign off, and the printed record."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from allauth.core.ratelimit import consume_or_429
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.bench.methods.drift import RULE
from jobs.flow.pages import JobPage
from jobs.flow.reads import jobs
from jobs.records.reads import gather_record
from jobs.signoff import actions
from jobs.signoff.models import SignOff
from jobs.signoff.reads import do_not_dive, drifting, issued, issued_as, pictures, record_paper, signed_record
from jobs.signoff.shapes import CheckIn, CodeIn, SignOffIn
from shop.files.reads import attached
from shop.gear.api import items
from shop.invitations.pages import Open
from shop.paper.pages import PaperPage
from shop.signing.reads import known_keys
from shop.signing.rules import SHOWS, checked
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import Page
from shop.web.shapes import Form, controls
from shop.workshop.reads import workshop
from shop.workshop.rules import Refusal, Refused


def _dated(record: dict[str, Any]) -> dict[str, Any]:
    """The record with its days and instants as such, so that a page can write them out."""
    for each in [*record["steps"], *record["tests"], *record["parts"], *record.get("loggings", ())]:
        for name in ("done_at", "calibrated_to", "good_to", "begun_at"):
            if each.get(name):
                each[name] = datetime.fromisoformat(each[name])
    return record


class Sign(JobPage):
    takes, title, button = SignOffIn, "Sign off", "Sign this round off"
    template = "signoff/sign.html"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        job = self.job()
        return {"job": job, "record": _dated(gather_record(job))}

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        people = Person.objects.filter(is_active=True).prefetch_related("roles").order_by("name")
        others = [person for person in people if person.may(Can.SIGN) and person.pk != self.by.pk]
        return {"second": [(person.uid, person.name) for person in others]}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        """A second person stands with the rest only where the plan asks for one."""
        form = super().form(*args, **kwargs)
        if not self.job().plan.second_person:
            form.fold(("second", "second_secret", "single_handed"), "A second person signs as well")
        for control in form.fields:
            if control.name.startswith("second"):
                control.may = "unless you are single-handed"
        return form

    def seen(self) -> int:
        return self.job().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.sign_off(by=self.by, job=self.job(), seen=seen or 0, **data)
        return reverse("record", args=[row.uid])


class Record(Page):
    """The closed record of a round, as it was signed; made to be printed."""

    template, room = "signoff/record.html", "bench"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        row = get_object_or_404(
            SignOff.objects.select_related("round", "signer", "second", "twin"), uid=kwargs["uid"]
        )
        record = _dated(json.loads(row.closed.record))
        drawn = pictures(row)
        for each in record["tests"]:
            each["picture"] = drawn.get(each["uid"])
        return {"sign_off": row, "record": record, "job": get_object_or_404(jobs(), pk=row.round.job_id)}


class OverServices(Page):
    """Each figure of an item over its services, with the rule by which one is flagged."""

    template, room = "signoff/drift.html", "bench"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        item = get_object_or_404(items(), uid=kwargs["uid"])
        return {"item": item, "series": drifting(item), "rule": RULE}


class SignedRecord(Page):
    """The signed record as a file to keep."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        text = signed_record(kwargs["uid"])
        return attached(text.encode(), "application/json", f"signed-record-{kwargs['uid']}.json")


NOT_A_SERVICE = "The signature fits, but this is no service record. An archive of evidence is checked whole: manage.py verify_evidence."


class Check(Open):
    """Where anybody, signed in or not, asks whether a record was issued here."""

    takes, title, button, template = CheckIn, "Was this record issued here?", "Check it", "signoff/check.html"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        asked, digest = (self.request.GET.get(name, "")[:64] for name in ("record", "digest"))
        code, house = self.request.GET.get("code", "")[:300], workshop()
        digest, printed = issued_as(code.replace("\0", "")) if code else (digest, issued(asked, digest))
        return {
            "asked": bool(code or asked or digest),
            "printed": printed,
            "digest": digest,
            "by_code": Form(
                reverse("check"), "Look it up", controls(CodeIn, sent={"code": code}), method="get"
            ),
            "shows": SHOWS,
            "house": house.name if house else "",
            "title": self.title,
        }

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        """What was found is shown at once: nothing is kept of the file."""
        limited: HttpResponse | None = consume_or_429(request, action="check_record")
        if limited:
            return limited
        shape = self.takes(data=request.FILES)
        if not shape.is_valid():
            return self.again(400, [], shape.errors)
        try:
            found = checked(shape.validated_data["file"], known_keys())
        except Refused as refused:
            return self.again(409, refused.refusals)
        if "signed" not in found.record:
            return self.again(409, [Refusal("no-service-record", NOT_A_SERVICE, "file")])
        signed_at = datetime.fromisoformat(found.record["signed"]["at"])
        return self.show(form=self.form(), found=found, signed_at=signed_at)

    def back(self) -> str:
        """Nowhere: whoever asks comes from a paper."""
        return ""


urlpatterns = [
    path("items/<uuid:uid>/drift", OverServices.as_view(), name="drift"),
    path("jobs/<uuid:uid>/sign-off", Sign.as_view(), name="sign"),
    path("records/<uuid:uid>", Record.as_view(), name="record"),
    path("records/<uuid:uid>/signed.json", SignedRecord.as_view(), name="signed_record"),
    path("check", Check.as_view(), name="check"),
    path("records/<uuid:uid>/record.pdf", PaperPage.as_view(read=record_paper), name="record_paper"),
    path("records/<uuid:uid>/do-not-dive.pdf", PaperPage.as_view(read=do_not_dive), name="do_not_dive"),
]
