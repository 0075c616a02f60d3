"""The API's doors to people and tokens."""

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
from shop.staff.models import Person, Token
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import (
    AuthorisationIn,
    AuthorisationOut,
    NewTokenOut,
    PersonIn,
    PersonOut,
    TokenIn,
    TokenOut,
)


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
        return Person.objects.prefetch_related("roles", "authorisations")

    @verb(PersonIn, PersonOut, creates=True)
    def post(self, request: Request, data: Any) -> Person:
        """Take somebody on."""
        return actions.add_person(by=self.by, **data)


class Authorisations(Door):
    @verb(AuthorisationIn, AuthorisationOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """Authorise somebody."""
        return actions.authorise(by=self.by, person=get_object_or_404(Person, uid=uid), **data)


class Tokens(Door):
    @reads(TokenOut, many=True)
    def get(self, request: Request) -> Any:
        """Your own tokens."""
        require(self.by, Can.KEEP_OWN_TOKENS)
        return Token.objects.filter(user=self.by)

    @verb(TokenIn, NewTokenOut)
    def post(self, request: Request, data: Any) -> Any:
        """Make a token; its secret is in this answer only, so a repeat makes another one."""
        row, secret = actions.make_token(by=self.by, **data)
        return {"token": row, "secret": secret}


class EndToken(Door):
    @verb(Nothing, TokenOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Token:
        """End a token of your own at once."""
        token = get_object_or_404(Token, uid=uid, user=self.by)
        actions.end_token(by=self.by, token=token)
        token.refresh_from_db()
        return token


urlpatterns = [
    path("people", People.as_view(), name="people"),
    path("people/<uuid:uid>/authorisations", Authorisations.as_view(), name="authorisations"),
    path("tokens", Tokens.as_view(), name="tokens"),
    path("tokens/<uuid:uid>/end", EndToken.as_view(), name="end_token"),
]
