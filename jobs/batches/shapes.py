"""The forms of the pages."""

from typing import Any

from rest_framework import serializers

from jobs.batches.rules import FIELDS, What
from shop.api.shapes import Shape


class UploadIn(Shape):
    what = serializers.ChoiceField(choices=[str(what) for what in What], label="What it holds")
    file = serializers.FileField(
        max_length=200,
        help_text="A CSV or an XLSX of at most 20 MB, whose first row names the columns.",
        style={"attrs": {"accept": ".csv,.tsv,.txt,.xlsx"}},
    )


class BeginIn(Shape):
    good_rows = serializers.BooleanField(
        default=False, label="Bring in the good rows, although there are bad ones"
    )


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
