"""The Office's page to take everything out."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path

from jobs.takeout.api import archive
from shop.api.shapes import Nothing
from shop.staff.rules import Can
from shop.web.pages import FormPage
from shop.web.shapes import Form


class TakeOut(FormPage):
    takes, title, room, needs = Nothing, "Take everything out", "office", Can.BRING_IN
    button, cancel = "Take it out", "office"
    lead = "One archive with every table as CSV and JSON. It holds what is known of all customers: keep it as such."

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.note = (
            "Passwords, signing secrets, tokens, sessions, second factors and the texts of letters with a private link "
            "stay here. Customers, items, sets and clocks can be read back into an empty workshop; all else is for reading. It stands in the journal."
        )
        return form

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        answer: HttpResponse = archive(self.by)  # type: ignore[assignment]  # a file is sent as it is read
        return answer


urlpatterns = [path("office/take-out", TakeOut.as_view(), name="take_all_out")]
