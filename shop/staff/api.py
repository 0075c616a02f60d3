"""The API's doors to people."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.journal.reads import told
from shop.staff import actions
from shop.staff.models import Authorisation, Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import (
    AuthorisationIn,
    AuthorisationOut,
    EndAuthorisationIn,
    PersonIn,
    PersonOut,
    ReachIn,
    RolesIn,
    WorkshopOut,
)
from shop.workshop.models import Workshop


class TokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]  # registers itself by being defined
    """How the schema tells of our tokens."""

    target_class = "shop.staff.reads.ScopedTokenAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        said = "`Authorization: Token …`; the token's scopes narrow what its person may do."
        return {"type": "apiKey", "in": "header", "name": "Authorization", "description": said}


class History(Door):
    """The base of the doors to everything that was journalled about a row."""

    def paged(self, rows: Any, shape: type[BaseSerializer[Any]]) -> Response:
        """One page of entries, told."""
        pages = self.pagination_class()
        page: list[Any] | None = pages.paginate_queryset(rows, self.request, self)
        return pages.get_paginated_response(shape(told(page or []), many=True).data)


class People(Door):
    @reads(PersonOut, many=True)
    def get(self, request: Request) -> Any:
        """Everybody who works here."""
        require(self.by, Can.SEE)
        return Person.objects.prefetch_related("roles", "authorisations__under")

    @verb(PersonIn, PersonOut, creates=True)
    def post(self, request: Request, data: Any) -> Person:
        """Take somebody on."""
        return actions.add_person(by=self.by, **data)


class Authorisations(Door):
    @verb(AuthorisationIn, AuthorisationOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """Authorise somebody."""
        return actions.authorise(by=self.by, person=get_object_or_404(Person, uid=uid), **data)


class EndAuthorisation(Door):
    @verb(EndAuthorisationIn, AuthorisationOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Authorisation:
        """Let an authorisation end earlier."""
        row = get_object_or_404(Authorisation, uid=uid)
        return actions.end_authorisation(by=self.by, authorisation=row, **data)


class OnePerson(Door):
    @reads(PersonOut)
    def get(self, request: Request, uid: UUID) -> Person:
        """One person."""
        require(self.by, Can.SEE)
        return get_object_or_404(Person, uid=uid)


class Roles(Door):
    @verb(RolesIn, PersonOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Person:
        """Give somebody these roles and no others."""
        person = get_object_or_404(Person, uid=uid)
        return actions.change_roles(by=self.by, person=person, seen=seen, **data)


class Deactivate(Door):
    @verb(Nothing, PersonOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Person:
        """Somebody no longer works here; their sessions and tokens end at once."""
        return actions.deactivate(by=self.by, person=get_object_or_404(Person, uid=uid), seen=seen)


class Reactivate(Door):
    @verb(Nothing, PersonOut, seen=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> Person:
        """Somebody works here again; they sign in anew."""
        return actions.reactivate(by=self.by, person=get_object_or_404(Person, uid=uid), seen=seen)


class House(Door):
    @reads(WorkshopOut)
    def get(self, request: Request) -> Any:
        """Who we are, and how customers reach us."""
        require(self.by, Can.SEE)
        return get_object_or_404(Workshop)

    @verb(ReachIn, WorkshopOut, seen=True)
    def post(self, request: Request, data: Any, seen: int) -> Workshop:
        """Say how customers reach us."""
        return actions.say_reach(by=self.by, seen=seen, **data)


urlpatterns = [
    path("workshop", House.as_view(), name="workshop"),
    path("people", People.as_view(), name="people"),
    path("people/<uuid:uid>/authorisations", Authorisations.as_view(), name="authorisations"),
    path("people/<uuid:uid>", OnePerson.as_view(), name="person"),
    path("people/<uuid:uid>/roles", Roles.as_view(), name="roles"),
    path("people/<uuid:uid>/deactivate", Deactivate.as_view(), name="deactivate"),
    path("people/<uuid:uid>/reactivate", Reactivate.as_view(), name="reactivate"),
    path("authorisations/<uuid:uid>/end", EndAuthorisation.as_view(), name="end_authorisation"),
]
