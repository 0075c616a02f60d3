"""The page to sign off, and the printed record."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.bench.methods.drift import RULE
from jobs.flow.pages import JobPage
from jobs.flow.reads import jobs
from jobs.records.reads import gather_record
from jobs.signoff import actions
from jobs.signoff.models import SignOff
from jobs.signoff.reads import do_not_dive, drifting, pictures, record_paper
from jobs.signoff.shapes import SignOffIn
from shop.gear.api import items
from shop.paper.pages import PaperPage
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import Page
from shop.web.shapes import Form


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
            SignOff.objects.select_related("round", "signer", "second"), uid=kwargs["uid"]
        )
        record = _dated(json.loads(row.record))
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


urlpatterns = [
    path("items/<uuid:uid>/drift", OverServices.as_view(), name="drift"),
    path("jobs/<uuid:uid>/sign-off", Sign.as_view(), name="sign"),
    path("records/<uuid:uid>", Record.as_view(), name="record"),
    path("records/<uuid:uid>/record.pdf", PaperPage.as_view(read=record_paper), name="record_paper"),
    path("records/<uuid:uid>/do-not-dive.pdf", PaperPage.as_view(read=do_not_dive), name="do_not_dive"),
]
