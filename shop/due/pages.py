"""The list of what is due, and its calendar, which whoever has its secret address reads."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path, reverse
from django.views import View

from shop.api.shapes import Nothing
from shop.clocks.reads import stands
from shop.due import actions
from shop.due.reads import address, calibrations_due, due, due_calendar, obligations, opens, weeks_to_come
from shop.due.rules import Within
from shop.due.shapes import DueIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Control, Form, controls
from shop.workshop.reads import today

MOST_ROWS = 200


class DueList(Page):
    """The list by its filters; what cannot be read of them is refused beside the usual list."""

    template, room = "due/list.html", "counter"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        shape = DueIn(data=request.GET.dict())
        asked = shape.validated_data if shape.is_valid() else DueIn().to_internal_value({})
        filters = {name: asked[name] for name in ("kind", "clock", "whose")}
        rows = due(**asked).order_by("due", "item__number", "key")
        sent = request.GET.dict() if shape.errors else asked
        fields = controls(DueIn, sent=sent, errors=dict(shape.errors), choices={"clock": obligations()})
        form = Form(reverse("due"), "Show", [_any(each) for each in fields], method="get")
        form.fold(filters, "Only some of it")
        context = {
            "rows": [(clock, stands(clock)) for clock in rows[:MOST_ROWS]],
            "count": rows.count(),
            "instruments": [(row, row.fault_on(today())) for row in calibrations_due(**asked)],
            "weeks": weeks_to_come(**filters),
            "unknown": due(Within.UNKNOWN, **filters).count(),
            "within": asked["within"],
            "day": today(),
            "form": form,
        }
        return self.show(status=400 if shape.errors else 200, **context)


def _any(control: Control) -> Control:
    """A filter that says "any" where nothing is chosen."""
    if control.blank:
        chosen = any(each["selected"] for each in control.choices)
        control.choices.insert(0, {"value": "", "label": "any", "selected": not chosen})
        control.blank, control.may = False, ""
    return control


class Calendar(Page):
    template, room = "due/calendar.html", "office"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"address": address(), "may_renew": self.by.may(Can.KEEP_PEOPLE)}


class RenewCalendar(FormPage):
    takes, title, room, button, cancel = (
        Nothing,
        "A new address for the calendar",
        "office",
        "Make it",
        "calendar",
    )
    lead = "The address before, if there was one, ends at once: whoever subscribed to it needs the new one."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.renew_address(by=self.by)
        return reverse("calendar")


class Subscribed(View):
    """The calendar itself, for a program that cannot sign in."""

    def get(self, request: HttpRequest, secret: str) -> HttpResponse:
        if not opens(secret):
            raise Http404
        return HttpResponse(due_calendar(), content_type="text/calendar; charset=utf-8")


urlpatterns = [
    path("due", DueList.as_view(), name="due"),
    path("office/calendar", Calendar.as_view(), name="calendar"),
    path("office/calendar/renew", RenewCalendar.as_view(), name="renew_calendar"),
    path("calendar/<slug:secret>.ics", Subscribed.as_view(), name="due_calendar"),
]
