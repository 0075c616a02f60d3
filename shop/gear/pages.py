"""An item's page, and the form to add one."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.api.api import in_place
from shop.catalogue.models import Model
from shop.customers.models import Customer
from shop.files.models import Photograph
from shop.files.reads import shown, stored
from shop.files.rules import MEDIA_TYPE
from shop.gear import actions
from shop.gear.api import items
from shop.gear.models import Item
from shop.gear.reads import with_equal_serial
from shop.gear.shapes import ItemPageIn, PhotographIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page, panels
from shop.web.shapes import Form


class OneItem(Page):
    template, room = "gear/item.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        item = get_object_or_404(items(), uid=kwargs["uid"])
        return {
            "item": item,
            "alike": with_equal_serial(item),
            "panels": panels("item", item),
            "photographs": shown([f"item:{item.uid}"]),
            "may_keep": self.by.may(Can.KEEP_GEAR),
        }


class NewItem(FormPage):
    takes, title, room, button = ItemPageIn, "New item", "counter", "Add the item"

    def back(self) -> str:
        return reverse("customer", args=[self.kwargs["uid"]])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        models = Model.objects.order_by("maker", "name", "kind")
        return {"model": [(model.uid, f"{model}, {model.kind_label}") for model in models]}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        if not Model.objects.exists():
            form.note = (
                "No model stands in the catalogue yet: the lead adds it under Office, Models and plans."
            )
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        owner = get_object_or_404(Customer, uid=self.kwargs["uid"])
        actions.add_item(by=self.by, owner=owner, **data)
        return reverse("customer", args=[owner.uid])


class NewPhotograph(FormPage):
    """The base of the forms that add a photograph of something."""

    takes, title, button = PhotographIn, "New photograph", "Keep the photograph"
    lead = "It is kept with your name and the time. No photograph is ever changed or thrown away."


class NewItemPhotograph(NewPhotograph):
    room = "counter"

    def back(self) -> str:
        return reverse("item", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        item = get_object_or_404(Item, uid=self.kwargs["uid"])
        actions.photograph_item(by=self.by, item=item, **data)
        return self.back() + "#photographs"


class OnePhotograph(Page):
    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        require(self.by, Can.SEE)
        row = get_object_or_404(Photograph.objects.select_related("file"), uid=kwargs["uid"])
        return in_place(stored(row.file), MEDIA_TYPE)


urlpatterns = [
    path("customers/<uuid:uid>/items/new", NewItem.as_view(), name="new_item"),
    path("items/<uuid:uid>", OneItem.as_view(), name="item"),
    path("items/<uuid:uid>/photographs/new", NewItemPhotograph.as_view(), name="photograph_item"),
    path("photographs/<uuid:uid>", OnePhotograph.as_view(), name="photograph"),
]
