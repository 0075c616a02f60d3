"""The API's doors to portholes at the counter; customers look and ask on pages only."""

from typing import Any
from uuid import UUID

from django.db.models import Max
from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import DropOff
from jobs.porthole import actions
from jobs.porthole.models import Question, Shared
from jobs.porthole.reads import links_of, questions, shared_of
from jobs.porthole.shapes import AnswerQuestionIn, PortholeOut, QuestionOut, SharedOut
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.files.models import Photograph
from shop.staff.reads import require
from shop.staff.rules import Can


def porthole(drop_off: DropOff) -> dict[str, Any]:
    """What the customer has of a drop-off by private links."""
    links = links_of(drop_off)
    return {
        "links": links.count(),
        "ends_at": links.aggregate(Max("ends_at"))["ends_at__max"],
        "shared": shared_of(drop_off),
        "questions": questions().filter(drop_off=drop_off),
    }


def drop_off(uid: UUID) -> DropOff:
    """A drop-off with its customer."""
    return get_object_or_404(DropOff.objects.select_related("customer__merged_into"), uid=uid)


class Porthole(Door):
    @reads(PortholeOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """What the customer has of a drop-off by private links: how many are open, what was shared and asked."""
        require(self.by, Can.SEE)
        return porthole(drop_off(uid))


class WriteLink(Door):
    @verb(Nothing, PortholeOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """Write the customer a letter with a private link to a drop-off."""
        return porthole(actions.write_link(by=self.by, drop_off=drop_off(uid)))


class EndLink(Door):
    @verb(Nothing, PortholeOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """End every private link to a drop-off."""
        return porthole(actions.end_link(by=self.by, drop_off=drop_off(uid)))


class Share(Door):
    @verb(Nothing, SharedOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Shared:
        """Let the customer see one photograph of a drop-off."""
        return actions.share(by=self.by, photograph=get_object_or_404(Photograph, uid=uid))


class TakeBack(Door):
    @verb(Nothing, SharedOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Shared:
        """The customer sees a photograph no more."""
        return actions.take_back(by=self.by, photograph=get_object_or_404(Photograph, uid=uid))


class Questions(Door):
    @reads(QuestionOut, many=True)
    def get(self, request: Request) -> Any:
        """What customers asked by the link of a drop-off."""
        require(self.by, Can.SEE)
        return questions()


class AnswerQuestion(Door):
    @verb(AnswerQuestionIn, QuestionOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Question:
        """Answer a question; a letter says that there is an answer."""
        row = actions.answer_question(by=self.by, question=get_object_or_404(questions(), uid=uid), **data)
        return questions().get(pk=row.pk)


urlpatterns = [
    path("drop-offs/<uuid:uid>/porthole", Porthole.as_view(), name="porthole_of"),
    path("drop-offs/<uuid:uid>/porthole/link", WriteLink.as_view(), name="write_link"),
    path("drop-offs/<uuid:uid>/porthole/end", EndLink.as_view(), name="end_link"),
    path("photographs/<uuid:uid>/share", Share.as_view(), name="share_photograph"),
    path("photographs/<uuid:uid>/take-back", TakeBack.as_view(), name="take_back_photograph"),
    path("questions", Questions.as_view(), name="questions"),
    path("questions/<uuid:uid>/answer", AnswerQuestion.as_view(), name="answer_question"),
]
