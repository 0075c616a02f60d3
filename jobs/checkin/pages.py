"""The Counter: find a customer, check gear in, a drop-off's page."""

import re
from collections.abc import Iterable, Mapping
from datetime import timedelta
from typing import Any

from django.db.models import Q
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from jobs.checkin import actions
from jobs.checkin.shapes import CheckInPageIn, LineIn
from jobs.estimates.reads import go_ahead, price
from jobs.flow.models import DropOff, Job, Line
from jobs.flow.reads import jobs, open_jobs
from jobs.flow.rules import ENDED
from shop.catalogue.models import PlanVersion
from shop.customers.models import Customer
from shop.files.models import Photograph
from shop.files.reads import shown
from shop.gear.models import Item
from shop.gear.pages import ItemPage, NewPhotograph
from shop.gear.shapes import MergeItemIn, SplitIn
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Control, Form, controls
from shop.workshop.reads import currency, today
from shop.workshop.rules import money


class Counter(Page):
    template, room = "checkin/counter.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        asked = self.request.GET.get("find", "").strip().replace("\0", "")[:80]
        found = _find(asked) if asked else []
        ready = open_jobs().filter(leg="signed_off")
        return {
            "asked": asked,
            "found": found,
            "ready": ready[:50],
            "drop_offs": _open_drop_offs(),
            "day": today(),
        }


def _find(asked: str) -> list[Customer]:
    """Customers by name, address, phone, one of our numbers (K-, C-, E-, tray), or a mark on something of theirs."""
    where = Q(name__icontains=asked) | Q(email__icontains=asked)
    where |= Q(items__identifiers__value__iexact=asked, items__merged_into=None)
    digits = re.sub(r"\D", "", asked)
    if len(digits) >= 4 and not re.search(r"[a-z]", asked, re.IGNORECASE):
        where |= Q(phone__contains=digits.lstrip("0"))
    if ours := re.fullmatch(r"([KCE])-?0*([0-9]{1,9})(-[0-9]+)?", asked.upper()):
        column = {"K": "number", "C": "drop_offs__number", "E": "items__number"}[ours[1]]
        where |= Q(**{column: int(ours[2])})
        if ours[1] == "E":
            where |= Q(items__merged__number=int(ours[2]))
    if asked.isdecimal() and len(asked) <= 9:
        where |= Q(drop_offs__jobs__number=int(asked))
    found = Customer.objects.filter(where).distinct().select_related("merged_into").order_by("name")[:20]
    # Whoever was merged is found as the one who was kept.
    return list(dict.fromkeys(row.merged_into or row for row in found))


def _open_drop_offs() -> Any:
    rows = DropOff.objects.filter(jobs__in=open_jobs().order_by()).distinct()
    return rows.select_related("customer").order_by("promised_on", "pk")[:50]


class CheckIn(FormPage):
    template, takes, title, room, button = (
        "checkin/check_in.html",
        CheckInPageIn,
        "Check in",
        "counter",
        "Check in",
    )

    def customer(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def start(self) -> Mapping[str, Any]:
        return {"promised_on": (today() + timedelta(days=7)).isoformat()}

    def context(self, **kwargs: Any) -> dict[str, Any]:
        customer = self.customer()
        items = (
            customer.items.filter(merged_into=None).select_related("model").prefetch_related("identifiers")
        )
        shown = items.exclude(jobs__in=open_jobs().order_by()).order_by("number")
        return {
            "customer": customer,
            "has_items": shown.exists(),
            "lines": self.lines(list(shown)),
            "blank": self.line(list(shown), 0, {}, {}),
        }

    def lines(self, items: list[Item]) -> list[list[Control]]:
        """The lines that were sent, with what is wrong, or one blank line."""
        sent = CheckInPageIn(data=self.request.POST)
        rows = sent.fields["lines"].get_value(self.request.POST) if self.request.method == "POST" else []
        errors = [] if sent.is_valid() or self.request.method != "POST" else sent.errors.get("lines", [])
        rows = rows if isinstance(rows, list) and rows else [{}]
        return [
            self.line(items, i, row, errors[i] if i < len(errors) and isinstance(errors, list) else {})
            for i, row in enumerate(rows[:60])
        ]

    def line(self, items: list[Item], i: int, sent: Mapping[str, Any], errors: Any) -> list[Control]:
        """The controls of one line, named as DRF reads lists."""
        plans = PlanVersion.objects.filter(model__in={item.model_id for item in items}).select_related(
            "model"
        )
        newest: dict[Any, PlanVersion] = {}
        for plan in plans.order_by("n"):
            newest[plan.model_id, plan.key] = plan
        choices = {
            "item": [(item.uid, f"{item.label} {item.title} ({item.marks})") for item in items],
            "plan": [(plan.uid, str(plan)) for plan in newest.values()],
        }
        made = controls(LineIn, sent=sent, errors=errors if isinstance(errors, dict) else {}, choices=choices)
        for control in made:
            control.name = f"lines[{i}]{control.name}"
        return made

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.check_in(by=self.by, customer=self.customer(), **data)
        return reverse("drop_off", args=[row.uid])


class OneDropOff(Page):
    template, room = "checkin/drop_off.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        rows = DropOff.objects.select_related("customer", "by")
        rows = rows.prefetch_related("hand_backs__by", "hand_backs__jobs__item")
        row = get_object_or_404(rows, uid=kwargs["uid"])
        given, code = go_ahead(row), currency()
        mine = jobs().filter(drop_off=row).select_related("line__emptied_by").order_by("line__n")
        mine = mine.prefetch_related("rounds__sign_off")
        return {
            "drop_off": row,
            "jobs": mine,
            "ended": all(job.leg in ENDED for job in mine),
            "price": money(price(row), code),
            "currency": code,
            "go_ahead": given,
            "too_low": given is not None and given.amount < price(row),
            "go_ahead_amount": money(given.amount, given.currency) if given else "",
            "may_hand_back": self.by.may(Can.HAND_BACK) and any(job.leg == "signed_off" for job in mine),
            "may_take": self.by.may(Can.TAKE_GO_AHEAD),
            "photographs": _photographs(mine),
            "may_check_in": self.by.may(Can.CHECK_IN),
        }


def _photographs(mine: Iterable[Job]) -> list[Photograph]:
    """The newest photographs of the lines, each with its tag."""
    tags = {f"line:{job.line.uid}": job.line.tag for job in mine}
    found = list(shown(tags))
    for row in found:
        row.of = tags[row.subject]
    return found


class MergeItem(ItemPage):
    takes, title, button = MergeItemIn, "Merge into another item", "Merge them"
    lead = "It will only be there to be read. Its marks and clocks go to the one that is kept. It cannot be undone."

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
    path("counter", Counter.as_view(), name="counter"),
    path("customers/<uuid:uid>/check-in", CheckIn.as_view(), name="check_in"),
    path("drop-offs/<uuid:uid>", OneDropOff.as_view(), name="drop_off"),
    path("items/<uuid:uid>/merge", MergeItem.as_view(), name="merge_item"),
    path("items/<uuid:uid>/split", SplitItem.as_view(), name="split_item"),
    path("lines/<uuid:uid>/photographs/new", NewLinePhotograph.as_view(), name="photograph_line"),
]
