"""The API's doors to evidence: its holds, custody, photographs, and its whole record as an archive."""

from tempfile import TemporaryFile
from typing import Any
from uuid import UUID

from django.http import FileResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from jobs.evidence import actions
from jobs.evidence.models import EvidenceCustody
from jobs.evidence.reads import custody_of, holds, one_hold
from jobs.evidence.shapes import (
    EvidenceCustodyIn,
    EvidenceCustodyOut,
    EvidenceIn,
    EvidenceOut,
    OneEvidenceOut,
)
from jobs.flow.models import Hold
from shop.api.api import Door, problems, reads, verb
from shop.api.shapes import Nothing
from shop.files.models import Photograph
from shop.files.reads import photographs
from shop.gear.models import Item
from shop.gear.shapes import PhotographIn, PhotographOut
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can

ZIP = "application/zip"


class AllEvidence(Door):
    @reads(EvidenceOut, many=True)
    def get(self, request: Request) -> Any:
        """Everything that is or was kept as evidence."""
        require(self.by, Can.SEE)
        return holds()


class Keep(Door):
    @verb(EvidenceIn, EvidenceOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Hold:
        """Keep an item as evidence, with or without a job: nothing is done to it until the hold is lifted."""
        return actions.keep_as_evidence(by=self.by, item=get_object_or_404(Item, uid=uid), **data)


class OneEvidence(Door):
    @reads(OneEvidenceOut)
    def get(self, request: Request, uid: UUID) -> Hold:
        """One item that is or was kept as evidence, with its custody."""
        require(self.by, Can.SEE)
        hold = one_hold(uid)
        custody_of(hold)
        return hold


class CustodyRows(Door):
    @verb(EvidenceCustodyIn, EvidenceCustodyOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> EvidenceCustody:
        """Write down that evidence passed on and what was seen of its seals."""
        return actions.pass_evidence_on(by=self.by, hold=one_hold(uid), **data)


class Photographs(Door):
    parser_classes = [MultiPartParser]

    @reads(PhotographOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The photographs of evidence."""
        require(self.by, Can.SEE)
        return photographs([f"evidence:{one_hold(uid).uid}"])

    @verb(PhotographIn, PhotographOut, creates=True)
    def post(self, request: Request, uid: UUID, data: Any) -> Photograph:
        """Keep a photograph of evidence."""
        return actions.photograph_evidence(by=self.by, hold=one_hold(uid), **data)


def archive(by: Person, hold: Hold) -> FileResponse:
    """The whole record of a hold, sent from a file that nobody else sees and that is gone once it is sent."""
    file = TemporaryFile()  # noqa: SIM115 - the response closes it once it is sent
    actions.take_evidence_out(by=by, hold=hold, file=file)
    file.seek(0)
    return FileResponse(file, as_attachment=True, filename=f"evidence-{hold.uid}.zip", content_type=ZIP)


class Archives(Door):
    needs = Can.LIFT_EVIDENCE

    @extend_schema(
        summary="Take the whole record of evidence out, signed, with its photographs and the journal's rows.",
        description="It stands in the journal, so it is no GET. Asked twice, it is made anew.",
        request=Nothing,
        responses={(200, ZIP): OpenApiResponse(OpenApiTypes.BINARY, "The archive."), **problems()},
    )
    def post(self, request: Request, uid: UUID) -> HttpResponseBase:
        Nothing(data=request.data).is_valid(raise_exception=True)
        return archive(self.by, one_hold(uid))


urlpatterns = [
    path("evidence", AllEvidence.as_view(), name="all_evidence"),
    path("items/<uuid:uid>/evidence", Keep.as_view(), name="evidence"),
    path("evidence/<uuid:uid>", OneEvidence.as_view(), name="one_evidence"),
    path("evidence/<uuid:uid>/custody", CustodyRows.as_view(), name="evidence_custody"),
    path("evidence/<uuid:uid>/photographs", Photographs.as_view(), name="evidence_photographs"),
    path("evidence/<uuid:uid>/archives", Archives.as_view(), name="evidence_archives"),
]
