"""A customer's page, and the forms to add and change one."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.customers import actions
from shop.customers.models import Customer
from shop.customers.reads import reached_alike
from shop.customers.shapes import CustomerIn
from shop.journal.reads import subjects_of
from shop.staff.pages import History
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page, panels
from shop.workshop.reads import language

KEPT = ("kind", "name", "email", "phone", "postal", "language", "reminders", "fewer", "ours")


class OneCustomer(Page):
    template, room = "customers/customer.html", "counter"

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.SEE)
        customer = get_object_or_404(Customer.objects.select_related("merged_into"), uid=kwargs["uid"])
        return {
            "customer": customer,
            "merged": customer.merged.order_by("number"),
            "alike": reached_alike(customer),
            "panels": panels("customer", customer),
            "may_keep": self.by.may(Can.KEEP_CUSTOMERS),
            "may_check_in": self.by.may(Can.CHECK_IN),
            "may_answer": self.by.may(Can.ANSWER_FOR_RIGHTS),
        }


class NewCustomer(FormPage):
    takes, title, room, button, cancel = CustomerIn, "New customer", "counter", "Add the customer", "counter"

    def start(self) -> Mapping[str, Any]:
        return {"name": self.request.GET.get("name", "")[:160], "kind": "person", "language": language()}

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        return reverse("customer", args=[actions.add_customer(by=self.by, **data).uid])


class ChangeCustomer(FormPage):
    takes, title, room = CustomerIn, "Change the customer", "counter"

    def back(self) -> str:
        return reverse("customer", args=[self.kwargs["uid"]])

    def customer(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def start(self) -> Mapping[str, Any]:
        row = self.customer()
        return {name: getattr(row, name) for name in KEPT}

    def seen(self) -> int:
        return self.customer().version

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        row = actions.change_customer(by=self.by, customer=self.customer(), seen=seen or 0, **data)
        return reverse("customer", args=[row.uid])


class CustomerHistory(History):
    def customer(self) -> Customer:
        return get_object_or_404(Customer, uid=self.kwargs["uid"])

    def subjects(self) -> list[str]:
        return subjects_of("customer", self.customer())

    def of(self) -> tuple[str, str]:
        return f"{self.customer().label} {self.customer().name}", reverse(
            "customer", args=[self.kwargs["uid"]]
        )


urlpatterns = [
    path("customers/new", NewCustomer.as_view(), name="new_customer"),
    path("customers/<uuid:uid>", OneCustomer.as_view(), name="customer"),
    path("customers/<uuid:uid>/history", CustomerHistory.as_view(), name="customer_history"),
    path("customers/<uuid:uid>/change", ChangeCustomer.as_view(), name="change_customer"),
]
