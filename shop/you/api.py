"""The API's doors to one's own words, sessions and tokens."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.staff import actions
from shop.staff.models import Token
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.staff.shapes import PersonOut
from shop.you.reads import own_sessions
from shop.you.shapes import NewTokenOut, PasswordIn, SessionsOut, SigningSecretIn, TokenIn, TokenOut


class Sessions(Door):
    @reads(SessionsOut)
    def get(self, request: Request) -> Any:
        """Your own sessions."""
        require(self.by, Can.KEEP_OWN_TOKENS)
        return {"sessions": own_sessions(self.by, request.session.session_key)}


class EndSessions(Door):
    @verb(Nothing, PersonOut)
    def post(self, request: Request, data: Any) -> Any:
        """End all of your own sessions at once, the one you ask from among them."""
        actions.end_sessions(by=self.by)
        return self.by


class Password(Door):
    @verb(PasswordIn, PersonOut)
    def post(self, request: Request, data: Any) -> Any:
        """Change your own password; all your sessions end, your tokens stay."""
        actions.change_password(by=self.by, **data)
        return self.by


class SigningSecret(Door):
    @verb(SigningSecretIn, PersonOut)
    def post(self, request: Request, data: Any) -> Any:
        """Change your own signing secret."""
        actions.change_signing_secret(by=self.by, **data)
        return self.by


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
    path("you/sessions", Sessions.as_view(), name="sessions"),
    path("you/sessions/end", EndSessions.as_view(), name="end_sessions"),
    path("you/password", Password.as_view(), name="password"),
    path("you/signing-secret", SigningSecret.as_view(), name="signing_secret"),
    path("tokens", Tokens.as_view(), name="tokens"),
    path("tokens/<uuid:uid>/end", EndToken.as_view(), name="end_token"),
]
