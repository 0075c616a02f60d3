"""The API's doors to answers; customers answer on pages only."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.answers import actions
from jobs.answers.models import Answer
from jobs.answers.reads import answers
from jobs.answers.shapes import LetterAnswerOut
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.staff.reads import require
from shop.staff.rules import Can


class Answers(Door):
    @reads(LetterAnswerOut, many=True)
    def get(self, request: Request) -> Any:
        """What customers answered to letters, newest first."""
        require(self.by, Can.SEE)
        return answers()


class ConfirmAnswer(Door):
    @verb(Nothing, LetterAnswerOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Answer:
        """What a customer said is so, and is done."""
        row = actions.confirm(by=self.by, answer=get_object_or_404(answers(), uid=uid))
        return answers().get(pk=row.pk)


class SetAnswerAside(Door):
    @verb(Nothing, LetterAnswerOut)
    def post(self, request: Request, uid: UUID, data: Any) -> Answer:
        """An answer changes nothing; letters go on."""
        row = actions.set_aside(by=self.by, answer=get_object_or_404(answers(), uid=uid))
        return answers().get(pk=row.pk)


urlpatterns = [
    path("answers", Answers.as_view(), name="answers"),
    path("answers/<uuid:uid>/confirm", ConfirmAnswer.as_view(), name="confirm_answer"),
    path("answers/<uuid:uid>/set-aside", SetAnswerAside.as_view(), name="set_answer_aside"),
]
