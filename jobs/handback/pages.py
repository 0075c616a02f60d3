"""The pages to hand gear back, to ask for collection and to dispose."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.estimates.reads import declined
from jobs.flow.models import DropOff
from jobs.flow.pages import OfJob
from jobs.flow.reads import jobs, newest_custody
from jobs.handback import actions
from jobs.handback.reads import slip
from jobs.handback.rules import DAYS_AFTER_THE_LAST, LETTERS_BEFORE_DISPOSAL
from jobs.handback.shapes import AskIn, DisposeIn, HandBackPageIn
from shop.paper.pages import PaperPage
from shop.web.pages import FormPage, panels


class HandBackPage(FormPage):
    takes, title, room, button = HandBackPageIn, "Hand back", "counter", "Hand it back"
    template = "handback/hand_back.html"

    def drop_off(self) -> DropOff:
        return get_object_or_404(
            DropOff.objects.select_related("customer", "collector"), uid=self.kwargs["uid"]
        )

    def context(self, **kwargs: Any) -> dict[str, Any]:
        row = self.drop_off()
        here = newest_custody().filter(line__drop_off=row, where="here").values("line")
        # What left by the record and was corrected to be here again may leave again.
        rows = jobs().filter(drop_off=row, leg__in=("signed_off", "handed_back"), line__in=here)
        bare = row.lines.filter(job=None, pk__in=here).select_related("item__model").order_by("n")
        jobs_here = list(rows.prefetch_related("rounds"))
        refused = declined([job.pk for job in jobs_here])
        ready = [(job, job.outcome, refused.get(job.pk, ())) for job in jobs_here]
        return {"drop_off": row, "ready": ready, "bare": bare, "panels": panels("hand_back", row)}

    def start(self) -> Mapping[str, Any]:
        agreed = self.drop_off().collector
        return {"collector": agreed.name} if agreed else {}

    def back(self) -> str:
        return reverse("drop_off", args=[self.kwargs["uid"]])

    def seen(self) -> int:
        return self.drop_off().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.hand_back(by=self.by, drop_off=self.drop_off(), seen=seen or 0, **data)
        return self.back()


class Ask(FormPage):
    takes, title, room, button = AskIn, "Ask to collect", "counter", "Ask"
    lead = "An e-mail is written at once; a paper letter or a call is written down here once it was made."

    def drop_off(self) -> DropOff:
        return get_object_or_404(DropOff, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("drop_off", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.ask_to_collect(by=self.by, drop_off=self.drop_off(), **data)
        return self.back()


class Dispose(OfJob):
    takes, title, button = DisposeIn, "Dispose of it", "Dispose of it"
    lead = (
        f"Only after {LETTERS_BEFORE_DISPOSAL} recorded letters, {DAYS_AFTER_THE_LAST} days after the last. That is "
        "this workshop's own rule: the law of the place decides what may be done with gear that nobody collects."
    )

    def seen(self) -> int:
        return self.job().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.dispose(by=self.by, job=self.job(), seen=seen or 0, **data)
        return self.back()


urlpatterns = [
    path("drop-offs/<uuid:uid>/hand-back", HandBackPage.as_view(), name="hand_back"),
    path("drop-offs/<uuid:uid>/ask", Ask.as_view(), name="ask"),
    path("jobs/<uuid:uid>/dispose", Dispose.as_view(), name="dispose"),
    path("hand-backs/<uuid:uid>/slip.pdf", PaperPage.as_view(read=slip), name="hand_back_slip"),
]
