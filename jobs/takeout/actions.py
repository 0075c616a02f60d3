"""Take everything out into one archive, and read it back into an empty workshop."""

import json
import zipfile
from collections.abc import Callable
from itertools import islice
from typing import IO, Any

from django.apps import apps
from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.models import QuerySet

from jobs.takeout.reads import digest_of, instances, put_table, tables
from jobs.takeout.rules import FORMAT, LEFT_OUT, NOTE, READ_BACK, manifest_faults
from shop.customers.reads import findable as customers
from shop.gear.reads import findable as items
from shop.journal.actions import write
from shop.journal.rules import canonical, sha256
from shop.search.actions import put_all
from shop.search.rules import Thing
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now, workshop
from shop.workshop.rules import Refusal, refuse

CHUNK = 500
MANIFEST = "manifest.json"


def take_out(*, by: Person, file: IO[bytes]) -> dict[str, Any]:
    """Write every table into an archive, as all of them stood at one instant; the manifest."""
    require(by, Can.BRING_IN)
    alone = not connection.in_atomic_block
    with transaction.atomic():
        if (
            alone and connection.vendor == "postgresql"
        ):  # SQLite's transaction keeps other writers waiting instead
            connection.cursor().execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            house = workshop()
            manifest: dict[str, Any] = {
                "format": FORMAT,
                "note": NOTE,
                "workshop": house.name if house else "",
                "at": now().isoformat(),
                "tables": {model._meta.label: put_table(archive, model) for model in tables()},
                "left_out": LEFT_OUT,
            }
            text = json.dumps(manifest, indent=1, ensure_ascii=False)
            archive.writestr(zipfile.ZipInfo(MANIFEST), text)
        facts = {"manifest": sha256(text), "tables": len(manifest["tables"])}
        write(subject="workshop", by=str(by.uid), verb="taken out", facts=facts)
    return manifest


def read_back(*, by: Person, file: IO[bytes]) -> dict[str, int]:
    """Read an archive into a workshop that has no row of these tables: all of it or nothing; how many rows of each."""
    require(by, Can.BRING_IN)
    models: dict[str, Any] = {label: apps.get_model(label) for label in READ_BACK}
    try:
        with zipfile.ZipFile(file) as archive, transaction.atomic():
            refuse(
                [
                    Refusal(
                        "not-empty", f"The workshop is not empty: it has {model._meta.verbose_name_plural}."
                    )
                    for model in models.values()
                    if model._default_manager.exists()
                ]
            )
            manifest = _manifest(archive)
            counts = {label: _fill(archive, model) for label, model in models.items()}
            wrong = [label for label, count in counts.items() if manifest["tables"][label]["rows"] != count]
            refuse([Refusal("other-count", f"{label} has other rows than it says.") for label in wrong])
            _find_again()
            for statement in connection.ops.sequence_reset_sql(no_style(), list(models.values())):
                connection.cursor().execute(statement)
            facts = {"manifest": sha256(archive.read(MANIFEST).decode()), "rows": canonical(counts)}
            write(subject="workshop", by=str(by.uid), verb="read back", facts=facts)
    except (zipfile.BadZipFile, KeyError, ValueError, ValidationError, TypeError) as fault:
        refuse([Refusal("unreadable", f"The archive is broken: {fault}.", "file")])
    return counts


def _manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    """The manifest, held against every file that is read."""
    manifest: dict[str, Any] = json.loads(archive.read(MANIFEST))
    refuse([Refusal("other-archive", said) for said in manifest_faults(manifest)])
    changed = [
        label for label in READ_BACK if digest_of(archive, f"{label}.csv") != manifest["tables"][label]["csv"]
    ]
    refuse([Refusal("changed", f"{label}.csv is not as it was taken out.") for label in changed])
    return manifest


def _fill(archive: zipfile.ZipFile, model: Any) -> int:
    found, count = instances(archive, model), 0
    while chunk := list(islice(found, CHUNK)):
        model._default_manager.bulk_create(chunk)
        count += len(chunk)
    return count


def _find_again() -> None:
    sources: list[tuple[QuerySet[Any], Callable[[Any], Thing]]] = [customers(), items()]
    for source, thing in sources:
        last = 0
        while chunk := list(source.filter(pk__gt=last).order_by("pk")[:CHUNK]):
            put_all(things=[thing(row) for row in chunk])
            last = chunk[-1].pk
