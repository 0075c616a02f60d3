"""An item's page, and the form to add one."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.catalogue.models import Model
from shop.customers.models import Customer
from shop.files.models import Photograph
from shop.files.reads import in_place, shown, stored
from shop.files.rules import MEDIA_TYPE, SpotShape
from shop.gear import actions
from shop.gear.api import items
from shop.gear.models import GearSet, Identifier, Item
from shop.gear.reads import item_tag, own_subjects, with_equal_serial
from shop.gear.shapes import (
    FactsIn,
    GasIn,
    IdentifierIn,
    ItemPageIn,
    MergeCustomerIn,
    MergeItemIn,
    OwnerIn,
    PhotographIn,
    SpotIn,
    StandingIn,
    StateIn,
)
from shop.journal.reads import subjects_of
from shop.paper.pages import PaperPage
from shop.staff.pages import History
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page, panels
from shop.web.shapes import Form
from shop.workshop.rules import grouped


class OneItem(Page):
    template, room = "gear/item.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        item = get_object_or_404(items(), uid=kwargs["uid"])
        return {
            "item": item,
            "alike": with_equal_serial(item),
            "panels": panels("item", item),
            "set": GearSet.objects.filter(members__item=item, members__to_day=None).first(),
            "photographs": shown(own_subjects(item)),
            "merged": item.merged.order_by("number"),
            "split_off": item.split_off.order_by("number"),
            "may_keep": self.by.may(Can.KEEP_GEAR) and item.merged_into is None,
            "may_check_in": self.by.may(Can.CHECK_IN),
            "may_hold": self.by.may(Can.HOLD),
            "may_lend": self.by.may(Can.LEND),
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
        row = actions.add_item(by=self.by, owner=owner, **data)
        # Another with its serial is told on its own page.
        alike = with_equal_serial(row).exists()
        return reverse("item", args=[row.uid]) if alike else reverse("customer", args=[owner.uid])


class ItemPage(FormPage):
    """The base of the forms that change an item."""

    room = "counter"

    def item(self) -> Item:
        row: Item = get_object_or_404(items(), uid=self.kwargs["uid"])
        return row

    def back(self) -> str:
        return reverse("item", args=[self.item().uid])

    def seen(self) -> int | None:
        return self.item().version

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        if "lead" in more:
            item = self.item()
            more["lead"] = f"{item.label}, {item.title}, {item.marks}. {more['lead']}"
        return super().show(status, template, **more)


class NewIdentifier(ItemPage):
    takes, title, button = IdentifierIn, "Add a mark", "Add the mark"
    lead = "An equal serial on another item is a warning there, never a refusal."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_identifier(by=self.by, item=self.item(), seen=seen or 0, **data)
        return self.back()


class IdentifierState(ItemPage):
    takes, title = StateIn, "Judge a mark"

    def identifier(self) -> Identifier:
        return get_object_or_404(Identifier.objects.select_related("item"), uid=self.kwargs["uid"])

    def item(self) -> Item:
        row: Item = get_object_or_404(items(), pk=self.identifier().item_id)
        return row

    def start(self) -> Mapping[str, Any]:
        return {"state": self.identifier().state}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.note = f"The mark: {self.identifier()}. What was read stays on record."
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.mark_identifier(by=self.by, identifier=self.identifier(), seen=seen or 0, **data)
        return self.back()


class Gas(ItemPage):
    takes, title, button = GasIn, "State the gas it is used with", "Save"
    lead = "Only parts that are fit for that gas go in from now on."

    def start(self) -> Mapping[str, Any]:
        return {"oxygen": self.item().used_with.removesuffix(" %")}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.state_gas(by=self.by, item=self.item(), seen=seen or 0, **data)
        return self.back()


class Facts(ItemPage):
    takes, title, button = FactsIn, "What it is", "Save"
    lead = "Rules for how often it must come again go by this, and its clocks are reckoned again."

    def start(self) -> Mapping[str, Any]:
        return {name: value or "" for name, value in self.item().facts.items()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.state_facts(by=self.by, item=self.item(), seen=seen or 0, **data)
        return self.back()


class ItemStanding(ItemPage):
    takes, title, button = StandingIn, "What became of it", "Save"
    lead = "Put away dry stops its clocks, sold, lost and condemned end them: it stands on no list of what is due, and no letter is written."

    def about(self) -> str:
        return f"On record now: {self.item().standing}."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.say_standing(by=self.by, item=self.item(), seen=seen or 0, **data)
        return self.back()


class Owner(ItemPage):
    takes, title, button = OwnerIn, "Pass it to another owner", "Pass it on"
    lead = "Jobs and drop-offs stay with whoever brought it."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.change_owner(by=self.by, item=self.item(), seen=seen or 0, **data)
        return self.back()


class MergePage(FormPage):
    """The base of the forms that merge one row into another, for good: the first press only says what goes into what."""

    room, button = "counter", "See what goes into what"
    right: Can

    def pair(self, keep: Any) -> tuple[str, str]:
        """The one that goes and the one that is kept, each so that it can be told from others."""
        raise NotImplementedError

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        """Merge them where they were seen together; else only show them, which changes nothing."""
        require(self.by, self.right)
        shape = self.takes(data=request.POST)
        if not shape.is_valid():
            return super().post(request, **kwargs)
        keep = shape.validated_data["into"]
        if request.POST.get("sure") == str(keep.uid):
            return super().post(request, **kwargs)
        form = self.form(request.POST)
        gone, kept = self.pair(keep)
        form.note = (
            f"This one goes: {gone}.\nThis one is kept: {kept}.\nAre both the same? It cannot be undone."
        )
        form.button = "Merge them for good"
        form.hidden.append({"name": "sure", "value": keep.uid})
        return self.show(form=form, title=self.title, lead=self.lead)


class MergeCustomer(MergePage):
    takes, title, right = MergeCustomerIn, "Merge into another customer", Can.KEEP_CUSTOMERS

    def lose(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("customer", args=[self.kwargs["uid"]])

    def seen(self) -> int:
        return self.lose().version

    def about(self) -> str:
        row = self.lose()
        return (
            f"{row.label} {row.name} will only be there to be read. Their gear passes to the one who is kept; "
            "drop-offs and jobs are shown there too. Reminders go only if both wanted them. It cannot be undone."
        )

    def pair(self, keep: Customer) -> tuple[str, str]:
        gone, kept = (
            ", ".join(
                filter(
                    None, [f"{row.label} {row.name}", grouped(row.phone), row.email, *row.postal.splitlines()]
                )
            )
            for row in (self.lose(), keep)
        )
        return gone, kept

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        kept = actions.merge_owners(by=self.by, keep=data["into"], lose=self.lose(), seen=seen or 0)
        return reverse("customer", args=[kept.uid])


class MergeItemPage(MergePage, ItemPage):
    """The base of the form that merges an item into another; a job room asks about its jobs."""

    takes, title, right = MergeItemIn, "Merge into another item", Can.KEEP_GEAR
    lead = "It will only be there to be read. Its marks and clocks go to the one that is kept. It cannot be undone."

    def pair(self, keep: Item) -> tuple[str, str]:
        gone, kept = (
            f"{row.label} {row.title}, {row.marks}, of {row.owner.name}" for row in (self.item(), keep)
        )
        return gone, kept


class ItemHistory(History):
    def item(self) -> Item:
        row: Item = get_object_or_404(items(), uid=self.kwargs["uid"])
        return row

    def subjects(self) -> list[str]:
        return subjects_of("item", self.item())

    def of(self) -> tuple[str, str]:
        item = self.item()
        return f"{item.label} {item.title}", reverse("item", args=[item.uid])


class NewPhotograph(FormPage):
    """The base of the forms that add a photograph of something."""

    takes, title, button = PhotographIn, "New photograph", "Keep the photograph"
    lead = "It is kept with your name and the time. No photograph is ever changed; only erasing its owner throws one away."


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
        row = get_object_or_404(Photograph.objects.select_related("file"), file__gone=None, uid=kwargs["uid"])
        return in_place(stored(row.file), MEDIA_TYPE)


class Spots(FormPage):
    template, takes, title, room, button = "gear/spots.html", SpotIn, "A photograph", "counter", "Keep it"

    def photograph(self) -> Photograph:
        return get_object_or_404(Photograph.objects.select_related("file"), uid=self.kwargs["uid"])

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        return {"photograph": self.photograph(), "may_point": self.by.may(Can.KEEP_GEAR)}

    def start(self) -> Mapping[str, Any]:
        return {"shape": SpotShape.CIRCLE.value}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.cancel_url = ""
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.point_at(by=self.by, photograph=self.photograph(), **data)
        return self.request.path


urlpatterns = [
    path("customers/<uuid:uid>/items/new", NewItem.as_view(), name="new_item"),
    path("items/<uuid:uid>", OneItem.as_view(), name="item"),
    path("items/<uuid:uid>/tag.pdf", PaperPage.as_view(read=item_tag), name="item_tag"),
    path("items/<uuid:uid>/identifiers/new", NewIdentifier.as_view(), name="new_identifier"),
    path("items/<uuid:uid>/gas", Gas.as_view(), name="item_gas"),
    path("items/<uuid:uid>/facts", Facts.as_view(), name="item_facts"),
    path("items/<uuid:uid>/standing", ItemStanding.as_view(), name="item_standing"),
    path("items/<uuid:uid>/owner", Owner.as_view(), name="owner"),
    path("items/<uuid:uid>/history", ItemHistory.as_view(), name="item_history"),
    path("identifiers/<uuid:uid>/state", IdentifierState.as_view(), name="identifier_state"),
    path("customers/<uuid:uid>/merge", MergeCustomer.as_view(), name="merge_customer"),
    path("items/<uuid:uid>/photographs/new", NewItemPhotograph.as_view(), name="photograph_item"),
    path("photographs/<uuid:uid>", OnePhotograph.as_view(), name="photograph"),
    path("photographs/<uuid:uid>/spots", Spots.as_view(), name="spots"),
]
