"""Pages of sets of gear."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.customers.models import Customer
from shop.gear.models import GearSet, Item
from shop.sets import actions
from shop.sets.reads import sets
from shop.sets.shapes import SetIn, SetItemIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page


def free(owner: Customer) -> list[tuple[Any, str]]:
    """The owner's items that belong to no set now."""
    rows = owner.items.filter(merged_into=None).exclude(
        memberships__to_day__isnull=True, memberships__isnull=False
    )
    return named(rows.select_related("model").prefetch_related("identifiers").order_by("number"))


def named(items: Any) -> list[tuple[Any, str]]:
    """Items as choices."""
    return [(item.uid, f"{item.label} {item.title} ({item.marks})") for item in items]


class NewSet(FormPage):
    takes, title, room, button = SetIn, "New set", "counter", "Make the set"
    lead = "What belongs together is checked in together and handed back together."

    def owner(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("customer", args=[self.kwargs["uid"]])

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"items": free(self.owner())}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("set", args=[actions.make_set(by=self.by, owner=self.owner(), **data).uid])


class OneSet(Page):
    template, room = "sets/set.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {
            "set": get_object_or_404(sets(), uid=kwargs["uid"]),
            "may_keep": self.by.may(Can.KEEP_GEAR),
            "may_check_in": self.by.may(Can.CHECK_IN),
        }


class SetPage(FormPage):
    """The base of a form about one set."""

    takes, room = SetItemIn, "counter"

    def gear_set(self) -> GearSet:
        return get_object_or_404(sets(), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("set", args=[self.kwargs["uid"]])

    def seen(self) -> int:
        return self.gear_set().version


class PutIn(SetPage):
    title, button = "Put an item in", "Put it in"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"item": free(self.gear_set().owner)}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.put_in(by=self.by, gear_set=self.gear_set(), seen=seen or 0, **data)
        return self.back()


class TakeOut(SetPage):
    title, button = "Take an item out", "Take it out"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        present: list[Item] = self.gear_set().present
        return {"item": named(present)}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_out(by=self.by, gear_set=self.gear_set(), seen=seen or 0, **data)
        return self.back()


urlpatterns = [
    path("customers/<uuid:uid>/sets/new", NewSet.as_view(), name="new_set"),
    path("sets/<uuid:uid>", OneSet.as_view(), name="set"),
    path("sets/<uuid:uid>/put-in", PutIn.as_view(), name="put_in"),
    path("sets/<uuid:uid>/take-out", TakeOut.as_view(), name="take_out"),
]
