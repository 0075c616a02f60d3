"""What is sent and shown of a file that is brought in."""

from typing import Any

from rest_framework import serializers

from jobs.batches.models import Batch, Finding
from jobs.batches.rules import FIELDS, What
from shop.api.shapes import Shape, UploadField


class UploadIn(Shape):
    what = serializers.ChoiceField(choices=[str(what) for what in What], label="What it holds")
    file = UploadField(
        max_length=200,
        help_text="A CSV or an XLSX of at most 20 MB, whose first row names the columns.",
        style={"attrs": {"accept": ".csv,.tsv,.txt,.xlsx"}},
    )


class BeginIn(Shape):
    good_rows = serializers.BooleanField(
        default=False, label="Bring in the good rows, although there are bad ones"
    )


class ColumnsIn(Shape):
    mapping = serializers.DictField(child=serializers.CharField(max_length=500, allow_blank=True))


class BatchOut(serializers.ModelSerializer[Batch]):
    columns = serializers.ListField(child=serializers.CharField(allow_blank=True))
    mapping = serializers.DictField(child=serializers.CharField())

    class Meta:
        model = Batch
        fields = [
            *("uid", "what", "name", "sha256", "encoding", "columns", "mapping", "state"),
            *("rows", "passed", "made", "bad", "alike", "at", "undone_at"),
        ]


class FindingOut(serializers.ModelSerializer[Finding]):
    class Meta:
        model = Finding
        fields = ["line", "column", "said", "bad"]


def columns_shape(what: What) -> type[Shape]:
    """One field for each that such a file may tell; its value is the name of a column."""
    may_lack: dict[str, Any] = {"allow_blank": True, "required": False, "default": ""}
    made: dict[str, Any] = {
        name.rstrip("*"): serializers.CharField(
            max_length=500,
            label=name.rstrip("*").replace("_", " ").capitalize(),
            **({} if "*" in name else may_lack),
        )
        for name in FIELDS[what]
    }
    return type(f"{what.name.title()}Columns", (Shape,), made)
