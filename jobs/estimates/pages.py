"""The pages to take a go-ahead, to write an estimate, to ask for a supplement and to take its answer."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils.functional import cached_property

from jobs.estimates import actions
from jobs.estimates.api import the_charge
from jobs.estimates.models import Charge
from jobs.estimates.reads import Estimate, estimate, waiting
from jobs.estimates.shapes import ChargeIn, GoAheadIn, PlanPriceIn, SupplementAnswerIn, SupplementIn
from jobs.flow.models import DropOff, Job
from jobs.flow.pages import JobPage
from shop.files.reads import shown
from shop.gear.pages import NewPhotograph
from shop.money.pages import rate_choices
from shop.money.reads import terms
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form
from shop.workshop.reads import currency
from shop.workshop.rules import money, priced


class OfDropOff(FormPage):
    """The base of a form about one drop-off."""

    room = "counter"

    @cached_property
    def drop_off(self) -> DropOff:
        return get_object_or_404(DropOff.objects.select_related("customer"), uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("money", args=[self.kwargs["uid"]])


class TakeGoAhead(OfDropOff):
    takes, title, button = GoAheadIn, "Go-ahead", "Take the go-ahead"

    def back(self) -> str:
        return reverse("drop_off", args=[self.kwargs["uid"]])

    @cached_property
    def estimate(self) -> Estimate:
        return estimate(self.drop_off)

    def start(self) -> Mapping[str, Any]:
        amount = money(self.estimate.to_ask, self.estimate.currency)
        return {"amount": amount, "given_by": self.drop_off.customer.name, "how": "in person"}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, found = super().form(*args, **kwargs), self.estimate
        form.fields[0].unit = found.currency
        form.keep = ""  # an amount typed before the price changed must not come back over the new one
        form.note = f"The plans come to {priced(found.price, found.currency)}."
        if found.with_likely != found.price:
            form.note += f" With what is likely it would be {priced(found.with_likely, found.currency)}."
        if found.go_ahead:
            agreed = priced(found.go_ahead.amount, found.currency)
            form.note += f" Agreed so far is up to {agreed}; the new amount takes its place, a lower one too."
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_go_ahead(by=self.by, drop_off=self.drop_off, **data)
        return self.back()


class NewCharge(OfDropOff):
    takes, title, button = ChargeIn, "New line", "Put it on the estimate"

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        rows = Job.objects.filter(drop_off__uid=self.kwargs["uid"]).select_related("item__model")
        gear = [(job.uid, f"Tray {job.number}, {job.item.title}") for job in rows]
        return {"job": gear, "rate": rate_choices()}

    def start(self) -> Mapping[str, Any]:
        return {"rate": terms().usual}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        asked = ("what", "amount", "job", "likely", "payer", "rate", "discount", "reason")
        form.fields.sort(key=lambda each: asked.index(each.name))
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.add_charge(by=self.by, drop_off=self.drop_off, **data)
        return self.back()


class PricePlan(JobPage):
    takes, title, button, room = PlanPriceIn, "Who pays for it", "Save", "counter"
    lead = "The price is that of the plan. What was said of it before no longer counts."

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        plans = [(each.uid, f"{each.plan.title} v{each.n}") for each in self.job().plans]
        return {"plan": plans, "rate": rate_choices()}

    def start(self) -> Mapping[str, Any]:
        return {"plan": self.job().plans[0].uid, "rate": terms().usual}

    def back(self) -> str:
        return reverse("money", args=[self.job().drop_off.uid])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.price_plan(by=self.by, job=self.job(), **data)
        return self.back()


class AskSupplement(JobPage):
    takes, title, button = SupplementIn, "More was found", "Ask the customer"
    lead = (
        "The job is held until the customer's answer is written down. Photographs are added on the next page."
    )

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        return {"rate": rate_choices()}

    def start(self) -> Mapping[str, Any]:
        return {"rate": terms().usual}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.ask_supplement(by=self.by, job=self.job(), **data)
        return reverse("charge", args=[row.uid])


class OneCharge(Page):
    """A line of an estimate with its photographs: what the customer is told on the telephone."""

    template, room = "estimates/charge.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        row = the_charge(kwargs["uid"])
        return {
            "charge": row,
            "customer": row.drop_off.customer.kept,
            "said": priced(row.amount - row.discount, currency()),
            "inclusive": terms().inclusive,
            "photographs": shown([row.cause]),
            "photograph_url": reverse("photograph_charge", args=[row.uid]) if self.by.may(Can.HOLD) else "",
            "may_take": self.by.may(Can.TAKE_GO_AHEAD),
        }


class OfCharge(FormPage):
    """The base of a form about one line of an estimate."""

    room = "counter"

    @cached_property
    def charge(self) -> Charge:
        return the_charge(self.kwargs["uid"])

    def back(self) -> str:
        return reverse("money", args=[self.charge.drop_off.uid])

    def seen(self) -> int:
        return self.charge.version

    def about(self) -> str:
        row = self.charge
        return f"{row.what}: {priced(row.amount - row.discount, currency())}."


class TakeOff(OfCharge):
    title, button = "Take it off the estimate", "Take it off"

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.take_off_charge(by=self.by, charge=self.charge, seen=seen or 0)
        return self.back()


class Need(OfCharge):
    title, button = "It was needed", "It was needed"
    lead = "It was only likely; from now on it is part of the price."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.need_charge(by=self.by, charge=self.charge, seen=seen or 0)
        return self.back()


class Answer(OfCharge):
    takes, title, button = SupplementAnswerIn, "The customer's answer", "Write it down"

    @cached_property
    def estimate(self) -> Estimate:
        return estimate(self.charge.drop_off)

    def start(self) -> Mapping[str, Any]:
        found = self.estimate
        amount = money(found.in_all(self.charge.uid), found.currency)
        return {"given_by": self.charge.drop_off.customer.name, "amount": amount}

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form = super().form(*args, **kwargs)
        form.keep = ""
        return form

    def about(self) -> str:
        found, code = self.estimate, self.estimate.currency
        said = f"With it the plans come to {priced(found.with_one(self.charge.uid), code)}, tax included."
        agreed = f"Agreed so far is up to {priced(found.go_ahead.amount, code)}." if found.go_ahead else ""
        return f"{super().about()} {said} {agreed}".strip()

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        if data["answer"] == "declined":
            data["amount"] = None  # the page offers one before anybody has answered
        actions.answer_supplement(by=self.by, charge=self.charge, seen=seen or 0, **data)
        return self.back()


class PhotographCharge(NewPhotograph):
    room = "counter"

    def back(self) -> str:
        return reverse("charge", args=[self.kwargs["uid"]])

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.photograph_charge(by=self.by, charge=the_charge(self.kwargs["uid"]), **data)
        return self.back() + "#photographs"


class Supplements(Page):
    template, room = "estimates/supplements.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        how = terms()
        rows = waiting(how.nudge_days)
        for row in rows:
            row["said"] = priced(row["charge"].amount, how.currency)
        return {"rows": rows, "nudge_days": how.nudge_days}


urlpatterns = [
    path("drop-offs/<uuid:uid>/go-ahead", TakeGoAhead.as_view(), name="go_ahead"),
    path("drop-offs/<uuid:uid>/charges/new", NewCharge.as_view(), name="new_charge"),
    path("jobs/<uuid:uid>/price", PricePlan.as_view(), name="price_plan"),
    path("jobs/<uuid:uid>/supplement", AskSupplement.as_view(), name="ask_supplement"),
    path("counter/supplements", Supplements.as_view(), name="supplements"),
    path("charges/<uuid:uid>", OneCharge.as_view(), name="charge"),
    path("charges/<uuid:uid>/take-off", TakeOff.as_view(), name="take_off_charge"),
    path("charges/<uuid:uid>/need", Need.as_view(), name="need_charge"),
    path("charges/<uuid:uid>/answer", Answer.as_view(), name="answer_supplement"),
    path("charges/<uuid:uid>/photographs/new", PhotographCharge.as_view(), name="photograph_charge"),
]
