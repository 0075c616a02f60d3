"""The API's doors to customers."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.customers import actions
from shop.customers.models import Customer
from shop.customers.shapes import CustomerIn, CustomerOut
from shop.journal.reads import history, subjects_of
from shop.staff.api import History
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import HistoryOut


class Customers(Door):
    @reads(CustomerOut, many=True, filters=("name",))
    def get(self, request: Request) -> Any:
        """Customers who were not merged, newest first; `name` keeps those whose name contains it."""
        require(self.by, Can.SEE)
        name = request.query_params.get("name", "").replace("\0", "")
        return Customer.objects.filter(name__icontains=name, merged_into=None)

    @verb(CustomerIn, CustomerOut, creates=True)
    def post(self, request: Request, data: Any) -> Customer:
        """Add a customer."""
        return actions.add_customer(by=self.by, **data)


class OneCustomer(Door):
    @reads(CustomerOut)
    def get(self, request: Request, uid: UUID) -> Customer:
        """One customer."""
        require(self.by, Can.SEE)
        return get_object_or_404(Customer, uid=uid)

    @verb(CustomerIn, CustomerOut, seen=True)
    def put(self, request: Request, uid: UUID, data: Any, seen: int) -> Customer:
        """Change a customer."""
        return actions.change_customer(
            by=self.by, customer=get_object_or_404(Customer, uid=uid), seen=seen, **data
        )


class CustomerHistory(History):
    @reads(HistoryOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """Everything journalled about a customer and what is theirs, newest first."""
        require(self.by, Can.SEE)
        return history(subjects_of("customer", get_object_or_404(Customer, uid=uid)))


urlpatterns = [
    path("customers", Customers.as_view(), name="customers"),
    path("customers/<uuid:uid>", OneCustomer.as_view(), name="customer"),
    path("customers/<uuid:uid>/history", CustomerHistory.as_view(), name="customer_history"),
]
