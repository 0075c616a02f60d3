"""The page to hand gear back."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.flow.models import DropOff
from jobs.flow.reads import jobs
from jobs.handback import actions
from jobs.handback.reads import slip
from jobs.handback.shapes import HandBackPageIn
from shop.paper.pages import PaperPage
from shop.web.pages import FormPage


class HandBackPage(FormPage):
    takes, title, room, button = HandBackPageIn, "Hand back", "counter", "Hand it back"
    template = "handback/hand_back.html"

    def drop_off(self) -> DropOff:
        return get_object_or_404(DropOff.objects.select_related("customer"), uid=self.kwargs["uid"])

    def context(self, **kwargs: Any) -> dict[str, Any]:
        row = self.drop_off()
        rows = jobs().filter(drop_off=row, leg="signed_off").prefetch_related("rounds")
        ready = [(job, job.outcome) for job in rows]
        return {"drop_off": row, "ready": ready}

    def back(self) -> str:
        return reverse("drop_off", args=[self.kwargs["uid"]])

    def seen(self) -> int:
        return self.drop_off().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.hand_back(by=self.by, drop_off=self.drop_off(), seen=seen or 0, **data)
        return self.back()


urlpatterns = [
    path("drop-offs/<uuid:uid>/hand-back", HandBackPage.as_view(), name="hand_back"),
    path("hand-backs/<uuid:uid>/slip.pdf", PaperPage.as_view(read=slip), name="hand_back_slip"),
]
