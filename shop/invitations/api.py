"""The API's doors to invitations."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from shop.api.api import Door, verb
from shop.api.shapes import Nothing
from shop.invitations import actions
from shop.invitations.shapes import InviteIn
from shop.staff.models import Person
from shop.staff.shapes import PersonOut


class Invitations(Door):
    @verb(InviteIn, PersonOut, creates=True)
    def post(self, request: Request, data: Any) -> Person:
        """Take somebody on and write them an invitation."""
        return actions.invite(by=self.by, **data)


class InviteAgain(Door):
    @verb(Nothing, PersonOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Person:
        """Write the invitation once more; the link of the letter before dies."""
        return actions.invite_again(by=self.by, person=get_object_or_404(Person, uid=uid))


urlpatterns = [
    path("invitations", Invitations.as_view(), name="invitations"),
    path("people/<uuid:uid>/invitations", InviteAgain.as_view(), name="invite_again"),
]
