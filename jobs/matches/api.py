"""The API's doors to what notices match and to the answers."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from jobs.matches import actions
from jobs.matches.models import Answer
from jobs.matches.reads import call_list, exported_csv, exported_json, matches
from jobs.matches.shapes import (
    CallsOut,
    MatchAnswerIn,
    MatchAnswerOut,
    MatchOut,
    OneNoticeOut,
    ToldIn,
    ToldOut,
)
from jobs.safety.models import Match, Notice
from jobs.safety.reads import notices
from shop.api.api import CSV, JSON, CsvRenderer, Door, problems, reads, verb
from shop.api.shapes import Nothing
from shop.files.reads import attached
from shop.journal.rules import canonical
from shop.staff.reads import require
from shop.staff.rules import Can


class OneNotice(Door):
    @reads(OneNoticeOut)
    def get(self, request: Request, uid: UUID) -> Notice:
        """A safety notice and how far it is answered."""
        require(self.by, Can.SEE)
        found: Notice = get_object_or_404(notices(), uid=uid)
        return found


class Matches(Door):
    @reads(MatchOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The items and lots that a notice matches, with every answer."""
        require(self.by, Can.SEE)
        return matches().filter(notice=get_object_or_404(Notice, uid=uid))


class Export(Door):
    """Every match with its owner and its standing answer, whole, as a file."""

    renderer_classes = [JSONRenderer, CsvRenderer]

    @extend_schema(
        summary="Every match of a notice with its owner and its standing answer, as CSV or JSON by Accept.",
        parameters=[OpenApiParameter("format", exclude=True)],
        responses={
            (200, CSV): OpenApiResponse(OpenApiTypes.STR, "One line a match."),
            (200, JSON): OpenApiResponse(OpenApiTypes.OBJECT, "One object a match."),
            **problems(),
        },
    )
    def get(self, request: Request, uid: UUID) -> HttpResponse:
        require(self.by, Can.SEE)
        as_csv = bool(request.accepted_renderer and request.accepted_renderer.media_type == CSV)
        return file_of(get_object_or_404(Notice, uid=uid), csv=as_csv)


def file_of(notice: Notice, *, csv: bool) -> HttpResponse:
    """The matches of a notice as a file to keep."""
    kind = "csv" if csv else "json"
    content = exported_csv(notice) if csv else canonical({"matches": exported_json(notice)})
    return attached(content.encode(), CSV if csv else JSON, f"notice-{notice.uid}.{kind}")


class Calls(Door):
    @reads(CallsOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """Whom to telephone about a notice."""
        require(self.by, Can.SEE)
        return {"calls": call_list(get_object_or_404(Notice, uid=uid))}


class Letters(Door):
    @verb(Nothing, OneNoticeOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Notice:
        """Have a letter written to each owner whose gear waits for an answer; who had one gets no second."""
        return actions.write_to_owners(by=self.by, notice=get_object_or_404(Notice, uid=uid))


class Told(Door):
    @verb(ToldIn, ToldOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Any:
        """Say that an owner was told of all of their gear that waits for an answer."""
        row = get_object_or_404(Notice, uid=uid)
        return {"answers": actions.told_owner(by=self.by, notice=row, **data)}


class Answers(Door):
    @verb(MatchAnswerIn, MatchAnswerOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Answer:
        """Answer a match, or correct the answer that stands."""
        return actions.answer_match(by=self.by, match=get_object_or_404(Match, uid=uid), **data)


urlpatterns = [
    path("notices/<uuid:uid>", OneNotice.as_view(), name="notice"),
    path("notices/<uuid:uid>/matches", Matches.as_view(), name="notice_matches"),
    path("notices/<uuid:uid>/export", Export.as_view(), name="notice_export"),
    path("notices/<uuid:uid>/calls", Calls.as_view(), name="notice_calls"),
    path("notices/<uuid:uid>/letters", Letters.as_view(), name="write_to_owners"),
    path("notices/<uuid:uid>/told", Told.as_view(), name="told_owner"),
    path("matches/<uuid:uid>/answers", Answers.as_view(), name="answer_match"),
]
