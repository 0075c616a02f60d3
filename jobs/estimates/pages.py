"""The page to take a go-ahead."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.estimates import actions
from jobs.estimates.reads import price
from jobs.estimates.shapes import GoAheadIn
from jobs.flow.models import DropOff
from shop.web.pages import FormPage
from shop.web.shapes import Form
from shop.workshop.reads import currency
from shop.workshop.rules import money


class TakeGoAhead(FormPage):
    takes, title, room, button = GoAheadIn, "Go-ahead", "counter", "Take the go-ahead"

    def drop_off(self) -> DropOff:
        return get_object_or_404(DropOff.objects.select_related("customer"), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("drop_off", args=[self.kwargs["uid"]])

    def start(self) -> Mapping[str, Any]:
        row = self.drop_off()
        return {"amount": money(price(row), currency()), "given_by": row.customer.name, "how": "in person"}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.fields[0].unit = currency()
        form.keep = ""  # an amount typed before the price changed must not come back over the new one
        form.note = f"The plans come to {money(price(self.drop_off()), currency())} {currency()}."
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_go_ahead(by=self.by, drop_off=self.drop_off(), **data)
        return self.back()


urlpatterns = [path("drop-offs/<uuid:uid>/go-ahead", TakeGoAhead.as_view(), name="go_ahead")]
