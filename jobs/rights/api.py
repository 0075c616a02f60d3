"""Doors to a customer's rights."""

from tempfile import TemporaryFile
from typing import Any
from uuid import UUID

from django.http import FileResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request

from jobs.rights import actions
from jobs.rights.models import Erasure
from jobs.rights.reads import Rights, rights
from jobs.rights.shapes import EraseIn, ErasureCloseIn, ErasureIn, ErasureOut, RightsOut
from jobs.whose.actions import give_out
from shop.api.api import Door, problems, reads, verb
from shop.api.shapes import Nothing
from shop.customers.models import Customer
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import today

ZIP = "application/zip"


def archive(by: Person, customer: Customer) -> FileResponse:
    """A customer's data, sent from a file that nobody else sees and that is gone once it is sent."""
    file = TemporaryFile()  # noqa: SIM115 - the response closes it once it is sent
    give_out(by=by, customer=customer, file=file)
    file.seek(0)
    name = f"customer-{customer.number:04d}-{today()}.zip"
    return FileResponse(file, as_attachment=True, filename=name, content_type=ZIP)


class OnesRights(Door):
    @reads(RightsOut)
    def get(self, request: Request, uid: UUID) -> Rights:
        """Requests of a customer to be erased, what stands in the way, which kept texts name them, who took their data out."""
        require(self.by, Can.ANSWER_FOR_RIGHTS)
        return rights(get_object_or_404(Customer, uid=uid))


class Data(Door):
    @extend_schema(
        summary="Take one customer's data out: JSON, with files and letters, in one archive.",
        description="It stands in the journal, so it is no GET. Asked twice, it is made anew.",
        request=Nothing,
        responses={(200, ZIP): OpenApiResponse(OpenApiTypes.BINARY, "The archive."), **problems(409)},
    )
    def post(self, request: Request, uid: UUID) -> HttpResponseBase:
        require(self.by, Can.ANSWER_FOR_RIGHTS)
        Nothing(data=request.data).is_valid(raise_exception=True)
        return archive(self.by, get_object_or_404(Customer, uid=uid))


class Erasures(Door):
    @verb(ErasureIn, ErasureOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Erasure:
        """Write down that a customer asks to be erased."""
        return actions.ask_erasure(by=self.by, customer=get_object_or_404(Customer, uid=uid), **data)


class Erase(Door):
    @verb(EraseIn, ErasureOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Erasure:
        """Erase the customer who asked, by two people."""
        return actions.erase(by=self.by, erasure=get_object_or_404(Erasure, uid=uid), **data)


class Close(Door):
    @verb(ErasureCloseIn, ErasureOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Erasure:
        """End a request without erasing."""
        return actions.close_erasure(by=self.by, erasure=get_object_or_404(Erasure, uid=uid), **data)


urlpatterns = [
    path("customers/<uuid:uid>/rights", OnesRights.as_view(), name="rights"),
    path("customers/<uuid:uid>/data", Data.as_view(), name="give_out"),
    path("customers/<uuid:uid>/erasures", Erasures.as_view(), name="ask_erasure"),
    path("erasures/<uuid:uid>/erase", Erase.as_view(), name="erase"),
    path("erasures/<uuid:uid>/close", Close.as_view(), name="close_erasure"),
]
