"""The API's doors to sign-offs."""

import json
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.request import Request

from jobs.flow.models import Job
from jobs.signoff import actions
from jobs.signoff.models import SignOff
from jobs.signoff.reads import do_not_dive, record_paper, signed_record
from jobs.signoff.shapes import SignedRecordOut, SignOffIn, SignOffOut
from shop.api.api import Door, reads, verb
from shop.paper.api import paper_door
from shop.staff.reads import require
from shop.staff.rules import Can


class SignOffs(Door):
    @reads(SignOffOut, many=True)
    def get(self, request: Request, uid: UUID) -> Any:
        """The sign-offs of a job with their closed records."""
        require(self.by, Can.SEE)
        job = get_object_or_404(Job, uid=uid)
        return SignOff.objects.filter(round__job=job).select_related("round__job", "signer", "second", "twin")

    @verb(SignOffIn, SignOffOut, seen=True, creates=True)
    def post(self, request: Request, uid: UUID, data: Any, seen: int) -> SignOff:
        """Sign the present round off."""
        return actions.sign_off(by=self.by, job=get_object_or_404(Job, uid=uid), seen=seen, **data)


class SignedRecord(Door):
    @reads(SignedRecordOut)
    def get(self, request: Request, uid: UUID) -> Any:
        """The closed record of a sign-off with its signature, which anybody may check; the order of names does not matter."""
        require(self.by, Can.SEE)
        return json.loads(signed_record(uid))


urlpatterns = [
    path("jobs/<uuid:uid>/sign-offs", SignOffs.as_view(), name="sign_offs"),
    path("records/<uuid:uid>/signed", SignedRecord.as_view(), name="signed_record"),
    path("records/<uuid:uid>/record.pdf", paper_door(record_paper), name="record_paper"),
    path("records/<uuid:uid>/do-not-dive.pdf", paper_door(do_not_dive), name="do_not_dive"),
]
