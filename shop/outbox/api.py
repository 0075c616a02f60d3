"""The API's doors to letters, suppressed addresses and reports of what came back."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.permissions import BasePermission
from rest_framework.request import Request
from rest_framework.views import APIView

from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.outbox import actions
from shop.outbox.reads import letters, suppressed
from shop.outbox.rules import Shows, signed_by_us
from shop.outbox.shapes import LetterOut, LettersIn, ReportIn, ReportOut, SuppressedOut, SuppressIn
from shop.post.models import Letter, Suppressed
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now


class Letters(Door):
    @reads(LetterOut, many=True, filters=("shows",))
    def get(self, request: Request) -> Any:
        """The outbox, by what became of a letter: `shows`."""
        require(self.by, Can.SEE_LETTERS)
        shape = LettersIn(data={k: v for k, v in request.query_params.items() if k == "shows"})
        shape.is_valid(raise_exception=True)
        return letters(Shows(shape.validated_data["shows"]))


class StopLetter(Door):
    @verb(Nothing, LetterOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Letter:
        """Keep a letter from going that has not gone."""
        return actions.stop_letter(
            by=self.by, letter=get_object_or_404(Letter.objects.defer("body"), uid=uid)
        )


class SendAgain(Door):
    @verb(Nothing, LetterOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Letter:
        """Let a letter go once more that failed, is uncertain or was kept back. It may arrive twice."""
        return actions.send_again(by=self.by, letter=get_object_or_404(Letter.objects.defer("body"), uid=uid))


class SuppressedAddresses(Door):
    @reads(SuppressedOut, many=True)
    def get(self, request: Request) -> Any:
        """The addresses that no letter goes to."""
        require(self.by, Can.SEE_LETTERS)
        return suppressed()

    @verb(SuppressIn, SuppressedOut, creates=True)
    def post(self, request: Request, data: Any) -> Suppressed:
        """Write to an address no more."""
        return actions.suppress_address(by=self.by, **data)


class LiftAddress(Door):
    @verb(Nothing, SuppressedOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Suppressed:
        """Write to an address again. Letters that were kept back stay so until each is sent again."""
        return actions.lift_address(by=self.by, suppressed=get_object_or_404(Suppressed, uid=uid))


class Signed(BasePermission):
    """Lets in whoever signed the body with the secret that both sides know (Standard Webhooks 1.0.0)."""

    message = "The signature is missing, wrong or older than five minutes, or no secret is set here."

    def has_permission(self, request: Request, view: APIView) -> bool:
        if request.method != "POST":  # nothing else is answered here
            return True
        given = [request.headers.get(f"webhook-{name}", "") for name in ("id", "timestamp", "signature")]
        at = int(now().timestamp())
        return signed_by_us(settings.BOUNCES_SECRET, *given, body=request.body, at=at)


class Bounces(Door):
    authentication_classes, permission_classes = (), (Signed,)

    @verb(ReportIn, ReportOut)
    def post(self, request: Request, data: Any) -> int:
        """Take in what came back, as a provider of mail hands it over, signed by the headers of Standard Webhooks."""
        return actions.take_report(raw=data["report"].encode("utf-8", "replace"), signed=True)


urlpatterns = [
    path("letters", Letters.as_view(), name="letters"),
    path("letters/<uuid:uid>/stop", StopLetter.as_view(), name="stop_letter"),
    path("letters/<uuid:uid>/send-again", SendAgain.as_view(), name="send_again"),
    path("suppressed", SuppressedAddresses.as_view(), name="suppressed"),
    path("suppressed/<uuid:uid>/lift", LiftAddress.as_view(), name="lift_address"),
    path("bounces", Bounces.as_view(), name="bounces"),
]
