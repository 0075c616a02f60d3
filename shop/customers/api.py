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
from shop.staff.reads import require
from shop.staff.rules import Can


class Customers(Door):
    @reads(CustomerOut, many=True, filters=("name",))
    def get(self, request: Request) -> Any:
        """Customers, newest first; `name` keeps those whose name contains it."""
        require(self.by, Can.SEE)
        return Customer.objects.filter(name__icontains=request.query_params.get("name", "").replace("\0", ""))

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


urlpatterns = [
    path("customers", Customers.as_view(), name="customers"),
    path("customers/<uuid:uid>", OneCustomer.as_view(), name="customer"),
]
