"""Every table of the workshop as CSV and JSON, row by row; and rows from such a CSV."""

import base64
import csv
import hashlib
import io
import json
import zipfile
from collections.abc import Iterator
from typing import IO, Any

from django.apps import apps
from django.db.models import BinaryField, CharField, Field, JSONField, Model, TextField

from jobs.takeout.rules import LEFT_OUT, READ_BACK, SECRET
from shop.journal.rules import canonical
from shop.post.rules import WITH_A_LINK
from shop.sheets.rules import bare, shielded

BATCH = 1000
TEXTS = (CharField, TextField, JSONField)  # an e-mail address is a CharField too


def tables() -> list[type[Model]]:
    """Every model of the house that is taken out, in the order of the rooms."""
    ours = [model for model in apps.get_models() if model.__module__.split(".")[0] in ("shop", "jobs")]
    return [model for model in ours if model._meta.label not in LEFT_OUT]


def columns(model: type[Model]) -> "list[Field[Any, Any]]":
    """The columns of a table, without secrets."""
    secret = SECRET.get(model._meta.label, set())
    return [field for field in model._meta.concrete_fields if field.name not in secret]


def rows(model: type[Model]) -> Iterator[dict[str, Any]]:
    """Every row in the order in which it was written, as what JSON can say; in batches, so that none is held long."""
    names = [field.attname for field in columns(model)]
    found, last, count = model._default_manager.order_by("pk"), 0, BATCH
    while count == BATCH:  # what is not full is the last one
        batch = list(found.filter(pk__gt=last).values_list("pk", *names)[:BATCH])
        for values in batch:
            row = dict(zip(names, values[1:], strict=True))
            if "body" in row and row.get("purpose") in WITH_A_LINK:
                row["body"] = None  # its link lets in whoever reads it
            yield {field.attname: _said(field, row[field.attname]) for field in columns(model)}
        count, last = len(batch), batch[-1][0] if batch else 0


def _said(field: "Field[Any, Any]", value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float):
        return value
    if isinstance(field, JSONField):
        return value
    if isinstance(field, BinaryField):
        return base64.b64encode(bytes(value)).decode()
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


def cell(field: "Field[Any, Any]", value: Any) -> str:
    """A value as a cell of a CSV."""
    if value is None:
        return ""
    text = canonical(value) if isinstance(field, JSONField) else str(value)
    return shielded(text) if isinstance(field, TEXTS) else text


def value_of(field: "Field[Any, Any]", text: str) -> Any:
    """The value of a cell."""
    if not text:
        return None if field.null else field.to_python("") if isinstance(field, TEXTS) else None
    text = bare(text) if isinstance(field, TEXTS) else text
    return json.loads(text) if isinstance(field, JSONField) else field.to_python(text)


class Hashing(io.RawIOBase):
    """A file that tells the SHA-256 of what was written into it."""

    def __init__(self, file: IO[bytes]):
        self.file, self.sha256 = file, hashlib.sha256()

    def writable(self) -> bool:
        return True

    def write(self, piece: Any) -> int:
        self.sha256.update(piece)
        self.file.write(piece)
        return len(piece)


def put_table(archive: zipfile.ZipFile, model: type[Model]) -> dict[str, Any]:
    """Write one table twice into an archive; what the manifest says of it."""
    label, fields = model._meta.label, columns(model)
    with archive.open(_member(f"{label}.csv"), "w", force_zip64=True) as file:
        raw = Hashing(file)
        with io.TextIOWrapper(io.BufferedWriter(raw), encoding="utf-8", newline="") as text:
            sheet, count = csv.writer(text), 0
            sheet.writerow(field.attname for field in fields)
            for count, row in enumerate(rows(model), 1):  # noqa: B007 - the count is what is wanted after it
                sheet.writerow(cell(field, row[field.attname]) for field in fields)
    with archive.open(_member(f"{label}.json"), "w", force_zip64=True) as file:
        plain = Hashing(file)
        with io.TextIOWrapper(io.BufferedWriter(plain), encoding="utf-8", newline="") as text:
            for n, row in enumerate(rows(model)):
                text.write((",\n" if n else "[\n") + canonical(row))
            text.write("\n]\n" if count else "[]\n")
    hashes = {"csv": raw.sha256.hexdigest(), "json": plain.sha256.hexdigest()}
    return {"rows": count, **hashes, "read_back": label in READ_BACK}


def _member(name: str) -> zipfile.ZipInfo:
    """A member without the time of the machine, so that the same rows give the same bytes."""
    info = zipfile.ZipInfo(name)
    info.compress_type = zipfile.ZIP_DEFLATED
    return info


def digest_of(archive: zipfile.ZipFile, name: str) -> str:
    """The SHA-256 of a member."""
    found = hashlib.sha256()
    with archive.open(name) as file:
        while piece := file.read(65536):
            found.update(piece)
    return found.hexdigest()


def instances(archive: zipfile.ZipFile, model: type[Model]) -> Iterator[Any]:
    """The rows of a table in an archive, as they were."""
    fields = {field.attname: field for field in columns(model)}
    with archive.open(f"{model._meta.label}.csv") as file:
        for row in csv.DictReader(io.TextIOWrapper(file, encoding="utf-8", newline="")):
            yield model(**{name: value_of(fields[name], text) for name, text in row.items()})
