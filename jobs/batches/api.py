"""The API to bring a file in: the file, its columns, its dry run and findings, its beginning, its undoing."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import path
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from jobs.batches import actions
from jobs.batches.models import Batch, Finding
from jobs.batches.rules import What
from jobs.batches.shapes import BatchOut, BeginIn, ColumnsIn, FindingOut, UploadIn, columns_shape
from shop.api.api import Door, reads, verb
from shop.api.shapes import Nothing
from shop.staff.reads import require
from shop.staff.rules import Can


class Batches(Door):
    parser_classes = [MultiPartParser]

    @reads(BatchOut, many=True)
    def get(self, request: Request) -> QuerySet[Batch]:
        """Every file that was brought in or is being brought in."""
        require(self.by, Can.BRING_IN)
        return Batch.objects.all()

    @verb(UploadIn, BatchOut, creates=True)
    def post(self, request: Request, data: dict[str, Any]) -> Batch:
        """Keep a file with a guess of its columns; the same file again is the batch that it is already."""
        file = data["file"]
        file.seek(0)
        return actions.upload(by=self.by, what=data["what"], name=file.name, raw=file.read())


class OneBatch(Door):
    @reads(BatchOut)
    def get(self, request: Request, uid: UUID) -> Batch:
        """A batch: its columns, its state and how far it is."""
        require(self.by, Can.BRING_IN)
        return get_object_or_404(Batch, uid=uid)


class Findings(Door):
    @reads(FindingOut, many=True)
    def get(self, request: Request, uid: UUID) -> QuerySet[Finding]:
        """What the dry run has to say of the rows, each with its line."""
        require(self.by, Can.BRING_IN)
        return get_object_or_404(Batch, uid=uid).findings.all()


class Columns(Door):
    @verb(ColumnsIn, BatchOut)
    def post(self, request: Request, uid: UUID, data: dict[str, Any]) -> Batch:
        """Say which column tells what; the dry run begins anew with it."""
        require(self.by, Can.BRING_IN)
        batch = get_object_or_404(Batch, uid=uid)
        shape = columns_shape(What(batch.what))(data=data["mapping"])
        shape.is_valid(raise_exception=True)
        return actions.set_columns(by=self.by, batch=batch, mapping=shape.validated_data)


class Begin(Door):
    @verb(BeginIn, BatchOut)
    def post(self, request: Request, uid: UUID, data: dict[str, Any]) -> Batch:
        """Let the rows come in, after a dry run."""
        return actions.begin(by=self.by, batch=get_object_or_404(Batch, uid=uid), **data)


class Undo(Door):
    @verb(Nothing, BatchOut)
    def post(self, request: Request, uid: UUID, data: dict[str, Any]) -> Batch:
        """Take a whole batch back, as long as nothing else refers to anything that it made."""
        return actions.undo(by=self.by, batch=get_object_or_404(Batch, uid=uid))


urlpatterns = [
    path("batches", Batches.as_view(), name="batches"),
    path("batches/<uuid:uid>", OneBatch.as_view(), name="batch"),
    path("batches/<uuid:uid>/findings", Findings.as_view(), name="batch_findings"),
    path("batches/<uuid:uid>/columns", Columns.as_view(), name="batch_columns"),
    path("batches/<uuid:uid>/begin", Begin.as_view(), name="begin_batch"),
    path("batches/<uuid:uid>/undo", Undo.as_view(), name="undo_batch"),
]
