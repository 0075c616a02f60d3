"""Checking gear in, a drop-off's page."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils.functional import cached_property

from jobs.bookings.models import Booking
from jobs.bookings.reads import waiting
from jobs.checkin import actions
from jobs.checkin.reads import (
    bag_tags,
    brought,
    line_choices,
    plan_choices,
    proposed,
    ticket,
    ticket_and_tags,
    usual_promise,
)
from jobs.checkin.shapes import CheckInFormIn, ItemiseIn, LineIn, LinesIn, ManyAtOncePageIn, ManyPageIn
from jobs.estimates.reads import go_ahead, price
from jobs.flow.models import DropOff, Line
from jobs.flow.reads import jobs, open_jobs
from jobs.flow.rules import Contents, Leg
from jobs.terms.reads import accepted, asked
from shop.catalogue.models import Model
from shop.customers.models import Customer
from shop.files.models import Photograph
from shop.files.reads import shown
from shop.gear.models import Item
from shop.gear.pages import ItemPage, MergeItemPage, NewPhotograph
from shop.gear.shapes import SplitIn
from shop.paper.pages import PaperPage
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page, panels
from shop.web.shapes import Control, Form, controls
from shop.workshop.reads import currency
from shop.workshop.rules import money

OTHERS = "A wished day; brought, paid or collected by somebody else"
# What most lines do not need stands folded away.
MORE_LABEL = "Condition, pressure, contamination, accessories"
MORE = ("condition", "state", "gas", "pressure", "pressure_unit", "taint", "accessories", "follows")


class LinesPage(FormPage):
    """The base of a form with lines: one for each thing on the counter."""

    room = "counter"

    def customer(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def context(self, **kwargs: Any) -> dict[str, Any]:
        customer = self.customer()
        items = customer.items.filter(merged_into=None).select_related("model")
        items = items.prefetch_related("identifiers")
        busy = open_jobs().filter(item__in=items)
        sent = [value for name, value in self.request.POST.items() if name.endswith("]item")]
        chosen = [each for each in map(as_uid, sent) if each]  # refused or not, what was chosen stays chosen
        free = items.exclude(jobs__in=busy.order_by()) | items.filter(uid__in=chosen)
        choices = line_choices(list(free.distinct().order_by("number")))
        return {
            "customer": customer,
            "lines": self.lines(choices),
            "blank": self.line(choices, 0, {}, {}),
            "busy": busy,
            "sets": customer.sets.order_by("name"),
        }

    def lines(self, choices: Mapping[str, Any]) -> list[dict[str, list[Control]]]:
        """The lines that were sent, with what is wrong; or one for each item of a set; or one blank line."""
        post = self.request.method == "POST"
        sent = self.takes(data=self.request.POST)
        rows = sent.fields["lines"].get_value(self.request.POST) if post else self.begin()
        errors = sent.errors.get("lines", {}) if post and not sent.is_valid() else {}
        # DRF numbers what is wrong with a list's rows, or lists what is wrong with the list itself.
        wrong = errors if isinstance(errors, dict) else {}
        rows = rows if isinstance(rows, list) and rows else [{}]
        return [self.line(choices, i, row, wrong.get(i, {})) for i, row in enumerate(rows[:60])]

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        """The page, with all fields that have errors, those of the lines too, for the list at the top."""
        context = {"room": self.room} | self.context(**self.kwargs) | more
        drawn = [each for line in context["lines"] for each in (*line["first"], *line["more"])]
        context["wrong"] = [*more["form"].wrong, *(each for each in drawn if each.errors)]
        return render(self.request, self.template, context, status=status)

    def begin(self) -> list[Mapping[str, Any]]:
        """The lines of a fresh form."""
        return []

    def line(
        self, choices: Mapping[str, Any], i: int, sent: Mapping[str, Any], errors: Any
    ) -> dict[str, list[Control]]:
        """The controls of one line, named as DRF reads lists: the first ones, and what is folded away."""
        given = errors if isinstance(errors, dict) else {}
        made = controls(LineIn, sent=sent, errors=given, choices=choices, skip=["more_plans"])
        made.sort(key=lambda control: (control.name not in ("item", "plan"), control.name in MORE))
        more = [control for control in made if control.name in MORE]
        first = [control for control in made if control.name not in MORE]
        for control in made:
            control.may = "needed with an item" if control.name == "plan" else control.may
            control.name = f"lines[{i}]{control.name}"
        return {"first": first, "more": more, "open": [each for each in more if each.errors]}


class CheckIn(LinesPage):
    template, takes, title, button = "checkin/check_in.html", CheckInFormIn, "Check in", "Check in"
    promise = cached_property(lambda _: usual_promise())  # the day, and why that

    def start(self) -> Mapping[str, Any]:
        booked = self.booked()
        promised, writes = self.promise[0].isoformat(), bool(self.customer().email)
        return {"promised_on": promised, "booking": str(booked.uid) if booked else "", "link": writes}

    def booked(self) -> Booking | None:
        """The booking that they come by."""
        uid = as_uid(self.request.GET.get("booking", ""))
        return waiting().filter(uid=uid).first() if uid else None

    def form(self, *args: Any, **kwargs: Any) -> Form:
        """The booking goes along unseen; why that day is proposed; what is inside of all, where there is gear already."""
        form = super().form(*args, **kwargs)
        form.action = self.request.get_full_path()
        named = {control.name: control for control in form.fields}
        booking = named["booking"]
        form.fields.remove(booking)
        form.hidden += [{"name": "booking", "value": booking.value}] if booking.value else []
        form.ask_if("inside", needed=self.of_all)
        named["inside"].attrs["autofocus"] = True
        named["promised_on"].help = self.promise[1]
        if not self.customer().email:  # nothing to send the private link to
            form.fields.remove(named["link"])
        return form

    def show(self, status: int = 200, template: str = "", **more: Any) -> HttpResponse:
        """The day, what is inside and the private link first; who else there is stands folded away."""
        form: Form = more["form"]
        first = ("promised_on", "inside", "link")
        form.fold([each.name for each in form.fields if each.name not in first], OTHERS)
        return super().show(status, template, of_all=self.of_all, **more)

    @cached_property
    def of_all(self) -> bool:
        """Whether what is inside is asked once for everything."""
        return "inside" in self.request.POST or bool(self.asked_for)

    @cached_property
    def asked_for(self) -> list[Item]:
        """What comes in: a set, an item, or what was booked."""
        asked = {name: as_uid(self.request.GET.get(name, "")) for name in ("set", "item")}
        return brought(self.customer(), self.booked(), gear_set=asked["set"], item=asked["item"])

    def begin(self) -> list[Mapping[str, Any]]:
        """A line for each of them with its usual plan."""
        plans = proposed(self.asked_for)
        rows = [(item, *plans[item.pk]) for item in self.asked_for]
        return [{"item": str(item.uid), "plan": plan, "why": why, "contents": ""} for item, plan, why in rows]

    def line(
        self, choices: Mapping[str, Any], i: int, sent: Mapping[str, Any], errors: Any
    ) -> dict[str, list[Control]]:
        """What is inside is as said of all, and why a plan is proposed stands beside it."""
        if self.of_all:
            inside = [("", "as said above"), *((each.value, each.value) for each in Contents)]
            choices = {**choices, "contents": inside}
            sent = sent if "contents" in sent else {"contents": "", **{name: sent.get(name) for name in sent}}
        found = super().line(choices, i, sent, errors)
        for control in found["first"]:
            control.help = sent.get("why", "") if control.name.endswith("]plan") else control.help
        return found

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.check_in(by=self.by, customer=self.customer(), **data)
        return reverse("drop_off", args=[row.uid])


def as_uid(text: object) -> UUID | None:
    """The uid in a text, or None."""
    try:
        return UUID(str(text))
    except ValueError:
        return None


class OfDropOff(FormPage):
    """The base of a form about one drop-off."""

    room = "counter"

    def drop_off(self) -> DropOff:
        return get_object_or_404(DropOff.objects.select_related("customer"), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("drop_off", args=[self.kwargs["uid"]])

    def seen(self) -> int | None:
        return self.drop_off().version


class AddLines(OfDropOff, LinesPage):
    template, takes, title, button = "checkin/check_in.html", LinesIn, "More lines", "Add the lines"

    def customer(self) -> Customer:
        return self.drop_off().customer.kept

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_lines(by=self.by, drop_off=self.drop_off(), seen=seen or 0, **data)
        return self.back()


class Many(OfDropOff):
    takes, title, button = ManyPageIn, "Many of one model", "Add and check in"
    lead = "For the gear of a school or a fire service: each gets its own number, line and job."

    def form(self, *args: Any, **kwargs: Any) -> Form:
        """Which gear first; what is seldom asked for folded away."""
        form = super().form(*args, **kwargs)
        first = ["model", "plan", "marks", "promised_on"]
        form.fields.sort(key=lambda each: first.index(each.name) if each.name in first else len(first))
        form.fold(MORE, MORE_LABEL)
        return form

    def choices(self) -> Mapping[str, list[tuple[Any, ...]]]:
        models = Model.objects.order_by("maker", "name", "kind")
        return {
            "model": [(model.uid, f"{model}, {model.kind_label}", model.uid) for model in models],
            "plan": plan_choices(model.pk for model in models),
        }

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.check_in_many(by=self.by, drop_off=self.drop_off(), seen=seen or 0, **data)
        return self.back()


class ManyAtOnce(Many):
    """The same for a customer who brings nothing else: it opens the drop-off as well."""

    takes = ManyAtOncePageIn

    def customer(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def start(self) -> Mapping[str, Any]:
        return {"promised_on": usual_promise()[0].isoformat()}

    def back(self) -> str:
        return reverse("customer", args=[self.kwargs["uid"]])

    def seen(self) -> None:
        """Nothing is changed that somebody else could change."""

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.bring_many(by=self.by, customer=self.customer(), **data)
        return reverse("drop_off", args=[row.uid])


class Itemise(FormPage):
    takes, title, room, button = ItemiseIn, "Which item it is", "counter", "Itemise it"
    template = "checkin/itemise.html"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        return {"customer": self.line().drop_off.customer.kept}

    def line(self) -> Line:
        return get_object_or_404(Line.objects.select_related("drop_off__customer"), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("drop_off", args=[self.line().drop_off.uid])

    def choices(self) -> Mapping[str, list[tuple[Any, ...]]]:
        items = self.line().drop_off.customer.kept.items.filter(merged_into=None).select_related("model")
        items = items.prefetch_related("identifiers")
        return line_choices(list(items.exclude(jobs__in=open_jobs().order_by()).order_by("number"))) | {
            "more_plans": []
        }

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, line = super().form(*args, **kwargs), self.line()
        form.fields = [control for control in form.fields if control.name != "more_plans"]
        form.note = f"Bag {line.tag}: {line.words or line.condition}"
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.itemise(by=self.by, line=self.line(), **data)
        return self.back()


class OneDropOff(Page):
    template, room = "checkin/drop_off.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = DropOff.objects.select_related("customer", "bringer", "payer", "collector", "by")
        rows = rows.prefetch_related("hand_backs__by", "hand_backs__jobs__item", "asked")
        row = get_object_or_404(rows, uid=kwargs["uid"])
        given, code, comes_to = go_ahead(row), currency(), price(row)
        mine = jobs().filter(drop_off=row).select_related("line__emptied_by").order_by("line__n")
        mine = mine.prefetch_related("rounds__sign_off")
        bare = row.lines.filter(job=None).select_related("item__model").order_by("n")
        return {
            "drop_off": row,
            "first": panels("drop_off_first", row),
            "panels": panels("drop_off", row),
            "jobs": mine,
            "bare": bare,
            "ended": all(job.has_ended for job in mine) and not bare,
            "ready": any(job.leg == "signed_off" for job in mine),
            "price": money(comes_to, code),
            "currency": code,
            "go_ahead": given,
            "too_low": given is not None and given.amount < comes_to,
            "go_ahead_amount": money(given.amount, given.currency) if given else "",
            "terms": asked(),
            "accepted": accepted(row),
            "fresh": given is None and all(job.leg == Leg.CHECKED_IN for job in mine),
            "may_hand_back": self.by.may(Can.HAND_BACK)
            and (bool(bare) or any(job.leg == "signed_off" for job in mine)),
            "may_check_in": self.by.may(Can.CHECK_IN),
            "may_promise": self.by.may(Can.PROMISE),
            "may_look": self.by.may(Can.KEEP_GEAR),
            "may_assign": self.by.may(Can.ASSIGN)
            and sum(job.technician is None and not job.has_ended and job.leg != "signed_off" for job in mine)
            > 1,
            "may_take": self.by.may(Can.TAKE_GO_AHEAD),
            "photographs": _photographs([*(job.line for job in mine), *bare]),
        }


def _photographs(lines: Iterable[Line]) -> list[Photograph]:
    """The newest photographs of the lines, each with its tag."""
    tags = {f"line:{line.uid}": line.tag for line in lines}
    found = list(shown(tags))
    for row in found:
        row.of = tags[row.subject]
    return found


class MergeItem(MergeItemPage):
    def act(self, data: dict[str, Any], seen: int | None) -> str:
        kept = actions.merge_items(by=self.by, keep=data["into"], lose=self.item(), seen=seen or 0)
        return reverse("item", args=[kept.uid])


class SplitItem(ItemPage):
    takes, title, button = SplitIn, "Split in two", "Give the second one a number"
    lead = "What happened so far stays with this one; every clock of the second one counts as due."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"identifiers": [(mark.uid, str(mark)) for mark in self.item().identifiers.all()]}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        second = actions.split_item(by=self.by, item=self.item(), seen=seen or 0, **data)
        return reverse("item", args=[second.uid])


class NewLinePhotograph(NewPhotograph):
    room = "counter"

    def line(self) -> Line:
        return get_object_or_404(Line.objects.select_related("drop_off"), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("drop_off", args=[self.line().drop_off.uid])

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.note = f"Bag {self.line().tag}, as it came."
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.photograph_line(by=self.by, line=self.line(), **data)
        return self.back() + "#photographs"


urlpatterns = [
    path("drop-offs/<uuid:uid>/lines", AddLines.as_view(), name="add_lines"),
    path("drop-offs/<uuid:uid>/many", Many.as_view(), name="many"),
    path("customers/<uuid:uid>/many", ManyAtOnce.as_view(), name="many_at_once"),
    path("lines/<uuid:uid>/item", Itemise.as_view(), name="itemise"),
    path("customers/<uuid:uid>/check-in", CheckIn.as_view(), name="check_in"),
    path("drop-offs/<uuid:uid>", OneDropOff.as_view(), name="drop_off"),
    path("drop-offs/<uuid:uid>/ticket.pdf", PaperPage.as_view(read=ticket), name="ticket"),
    path("drop-offs/<uuid:uid>/tags.pdf", PaperPage.as_view(read=bag_tags), name="bag_tags"),
    path("drop-offs/<uuid:uid>/papers.pdf", PaperPage.as_view(read=ticket_and_tags), name="ticket_and_tags"),
    path("items/<uuid:uid>/merge", MergeItem.as_view(), name="merge_item"),
    path("items/<uuid:uid>/split", SplitItem.as_view(), name="split_item"),
    path("lines/<uuid:uid>/photographs/new", NewLinePhotograph.as_view(), name="photograph_line"),
]
