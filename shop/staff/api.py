"""The API's doors to people."""

import inspect
import re
from collections.abc import Callable
from functools import cache, reduce
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


class Described(AutoSchema):
    """What the schema says of a call, with the scope that it asks of a token: read where the right is required."""

    def get_operation(self, *args: Any) -> Any:
        operation, needs = super().get_operation(*args), getattr(self.view, "needs", "")
        rights = [needs] if needs else scopes_of_call(getattr(type(self.view), self.method.lower()))
        if operation and rights:
            said = f"Scope that a token needs: {' or '.join(rights)}."
            operation["description"] = "\n\n".join(filter(None, (operation.get("description"), said)))
        return operation


@cache
def scopes_of_call(method: Callable[..., Any]) -> list[str]:
    """The rights that the method of a door requires itself, or else the action that it calls with `by`."""
    method = inspect.unwrap(method)
    text, found = inspect.getsource(method), list[str]()
    for part in (text, *map(inspect.getsource, _called(method, text))):
        asked = re.findall(r"require\((?:self\.)?by, ([^)]*)\)|\.may\(\"(\w+)\"\)", part)
        names = [name for line, _ in asked for name in re.findall(r"Can\.(\w+)", line)]
        found = found or [*(Can[name].value for name in names), *(word for _, word in asked if word)]
    return list(dict.fromkeys(found))


def _called(method: Callable[..., Any], text: str) -> list[Callable[..., Any]]:
    """The actions that a method calls for whoever acts."""
    found = []
    for name in re.findall(r"([\w.]+)\(\s*(?:by=)?self\.by\b", text):
        first, *rest = name.split(".")
        action = reduce(lambda part, each: getattr(part, each, None), rest, method.__globals__.get(first))
        found += [inspect.unwrap(action)] if inspect.isfunction(action) else []
    return found


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
