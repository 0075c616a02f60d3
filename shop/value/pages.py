"""What the store's lots cost: the year-end list, as a page and as a file."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from shop.staff.reads import require
from shop.staff.rules import Can
from shop.value.api import file_of
from shop.value.reads import worth
from shop.value.shapes import DayIn
from shop.web.pages import Page
from shop.web.shapes import Form, controls
from shop.workshop.reads import today


class Value(Page):
    """The list of a day; a day that cannot be read, or is to come, is refused beside today's list."""

    template, room = "value/value.html", "store"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        shape = DayIn(data=request.GET.dict())
        day = shape.validated_data["on"] if shape.is_valid() else today()
        wrong = dict(shape.errors)
        sent = {"on": request.GET.get("on", "") if wrong else day.isoformat()}
        form = Form(reverse("value"), "Show", controls(DayIn, sent=sent, errors=wrong), method="get")
        return self.show(status=400 if wrong else 200, worth=worth(day), form=form)


class ValueFile(Value):
    """The same as a file; a day that is refused is told on the page."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        shape = DayIn(data=request.GET.dict())
        return file_of(shape.validated_data["on"]) if shape.is_valid() else super().get(request, **kwargs)


urlpatterns = [
    path("store/value", Value.as_view(), name="value"),
    path("store/value.csv", ValueFile.as_view(), name="value_file"),
]
