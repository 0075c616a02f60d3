"""The API's doors to doubts and their answers."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.notices import actions
from jobs.notices.models import Affected, Answer, Doubt
from jobs.notices.reads import doubts
from jobs.notices.shapes import AnswerIn, AnswerOut, CloseIn, DoubtIn, DoubtOut, OneDoubtOut
from shop.api.api import Door, reads, verb
from shop.staff.reads import require
from shop.staff.rules import Can


class Doubts(Door):
    @reads(DoubtOut, many=True)
    def get(self, request: Request) -> Any:
        """Every doubt, newest first."""
        require(self.by, Can.SEE)
        return doubts()

    @verb(DoubtIn, OneDoubtOut, creates=True)
    def post(self, request: Request, data: Any) -> Doubt:
        """Raise a doubt: open jobs that rest on it stop, owners of gear that is gone are written to."""
        return actions.raise_doubt(by=self.by, **data)


class OneDoubt(Door):
    @reads(OneDoubtOut)
    def get(self, request: Request, uid: UUID) -> Doubt:
        """A doubt with every job that it touches."""
        require(self.by, Can.SEE)
        found: Doubt = get_object_or_404(doubts(), uid=uid)
        return found


class Close(Door):
    @verb(CloseIn, AnswerOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Answer:
        """Answer a doubt that touched no job."""
        return actions.close_doubt(by=self.by, doubt=get_object_or_404(Doubt, uid=uid), **data)


class AnswerFor(Door):
    @verb(AnswerIn, AnswerOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Answer:
        """Answer a doubt for one job that it touched."""
        row = get_object_or_404(Affected.objects.select_related("job"), uid=uid)
        return actions.answer(by=self.by, affected=row, **data)


urlpatterns = [
    path("doubts", Doubts.as_view(), name="doubts"),
    path("doubts/<uuid:uid>", OneDoubt.as_view(), name="doubt"),
    path("doubts/<uuid:uid>/answer", Close.as_view(), name="close_doubt"),
    path("affected/<uuid:uid>/answer", AnswerFor.as_view(), name="answer_doubt"),
]
