"""The Office's pages to bring a file in: the file, its columns, its dry run, its progress, its undoing."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from rest_framework import serializers

from jobs.batches import actions
from jobs.batches.models import Batch
from jobs.batches.rules import WORKING, State, What, fields
from jobs.batches.shapes import BeginIn, UploadIn, columns_shape
from shop.api.shapes import Nothing
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.web.pages import FormPage, Page
from shop.web.shapes import Form

MOST_SHOWN = 1000


class Batches(Page):
    template, room, needs = "batches/batches.html", "office", Can.BRING_IN

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.BRING_IN)
        return {"batches": Batch.objects.order_by("-pk")[:200]}


class NewBatch(FormPage):
    takes, title, room, needs = UploadIn, "Bring a file in", "office", Can.BRING_IN
    button, cancel = "Look at the file", "batches"
    lead = "Nothing is brought in yet: first its columns are shown, then a dry run."

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        file = data["file"]
        file.seek(0)
        batch = actions.upload(by=self.by, what=data["what"], name=file.name, raw=file.read())
        fresh = batch.state == State.COLUMNS
        return reverse("batch_columns" if fresh else "batch", args=[batch.uid])


class OneBatch(Page):
    template, room, needs = "batches/batch.html", "office", Can.BRING_IN

    def context(self, **kwargs: Any) -> dict[str, Any]:
        require(self.by, Can.BRING_IN)
        batch = get_object_or_404(Batch, uid=kwargs["uid"])
        findings = list(batch.findings.order_by("pk")[: MOST_SHOWN + 1])
        return {
            "batch": batch,
            "working": batch.state in WORKING,
            "findings": findings[:MOST_SHOWN],
            "more": len(findings) > MOST_SHOWN,
            "mapping": sorted((column, name.replace("_", " ")) for name, column in batch.mapping.items()),
            "left_out": [each for each in batch.columns if each and each not in batch.mapping.values()],
            "good": batch.rows - batch.bad,
        }


class OfBatch(FormPage):
    """The base of the forms that do something with a batch."""

    room, needs = "office", Can.BRING_IN

    def batch(self) -> Batch:
        return get_object_or_404(Batch, uid=self.kwargs["uid"])

    def back(self) -> str:
        return reverse("batch", args=[self.kwargs["uid"]])


class Columns(OfBatch):
    title, button = "Which column tells what", "Do a dry run"
    lead = "Guessed from the first row; put right what is wrong. What has no column here is left out."

    @property
    def takes(self) -> type[serializers.Serializer[Any]]:  # type: ignore[override]  # what is asked depends on the file
        return columns_shape(What(self.batch().what))

    def choices(self) -> Mapping[str, list[tuple[Any, str]]]:
        batch = self.batch()
        columns = [(column, column) for column in batch.columns if column]
        return dict.fromkeys(fields(What(batch.what)), columns)

    def start(self) -> Mapping[str, Any]:
        return dict(self.batch().mapping)

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.set_columns(by=self.by, batch=self.batch(), mapping=data)
        return self.back()


class Begin(OfBatch):
    takes, title, button = BeginIn, "Bring the rows in", "Bring them in"

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, batch = super().form(*args, **kwargs), self.batch()
        form.note = f"{batch.rows - batch.bad} good rows, {batch.bad} bad ones, {batch.alike} look-alikes."
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.begin(by=self.by, batch=self.batch(), **data)
        return self.back()


class Undo(OfBatch):
    takes, title, button = Nothing, "Undo the whole batch", "Undo it"
    lead = "All that it made is taken away, as long as nothing else refers to any of it. Past services are taken back."

    def form(self, *args: Any, **kwargs: Any) -> Form:
        form, batch = super().form(*args, **kwargs), self.batch()
        form.note = f"{batch}, {batch.made} rows brought in."
        return form

    def act(self, data: dict[str, Any], seen: int | None) -> str:
        actions.undo(by=self.by, batch=self.batch())
        return self.back()


urlpatterns = [
    path("office/bring-in", Batches.as_view(), name="batches"),
    path("office/bring-in/new", NewBatch.as_view(), name="new_batch"),
    path("office/bring-in/<uuid:uid>", OneBatch.as_view(), name="batch"),
    path("office/bring-in/<uuid:uid>/columns", Columns.as_view(), name="batch_columns"),
    path("office/bring-in/<uuid:uid>/begin", Begin.as_view(), name="begin_batch"),
    path("office/bring-in/<uuid:uid>/undo", Undo.as_view(), name="undo_batch"),
]
