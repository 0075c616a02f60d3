"""Make a backup of database and files while people work; restore one into an empty place."""

import os
import shutil
import sqlite3
from pathlib import Path

from django.conf import settings
from django.db import connection, transaction

from shop.backup.reads import (
    Damaged,
    bytes_found,
    file_hash,
    file_names,
    known_migrations,
    looked_at,
    lost_files,
    opened,
    postgresql,
    postgresql_tables,
    sqlite_faults,
    sqlite_tables,
    tables_now,
)
from shop.backup.rules import (
    DATABASE,
    MANIFEST,
    SUMS,
    Manifest,
    Table,
    manifest_text,
    migration_faults,
    sums_text,
    table_faults,
)
from shop.files.rules import place
from shop.journal.apps import missing_triggers
from shop.journal.reads import faults
from shop.workshop.reads import now

Snapshot = tuple[dict[str, Table], list[str], list[str]]  # tables, migrations, files
MIGRATIONS = "SELECT app || '.' || name FROM django_migrations ORDER BY 1"
FILES = "SELECT sha256 FROM files_file WHERE id NOT IN (SELECT file_id FROM files_gone) ORDER BY 1"


def back_up(archive: Path) -> Manifest:
    """Write a backup into a folder that does not exist yet; it has its name only once it is whole."""
    part = archive.with_name(archive.name + ".part")
    for path in (archive, part):
        if path.exists():
            raise Damaged([f"{path} exists already: name another folder, or remove what is there."])
    part.mkdir(mode=0o700, parents=True)
    try:
        manifest = _written(part)
        _sync(part)
        part.rename(archive)
        _sync_one(archive.parent)
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise
    return manifest


def _written(part: Path) -> Manifest:
    """The database first: files are never changed, and only erasure takes one away, so all else that it names is still there after."""
    take = _from_sqlite if connection.vendor == "sqlite" else _from_postgresql
    tables, migrations, files = take(part / DATABASE[connection.vendor])
    lost = []
    for name, sha256 in file_names(files).items():
        try:
            _copy(settings.FILES.joinpath(*place(sha256)), part / name, sha256)
        except OSError:
            (part / name).unlink(missing_ok=True)
            lost.append(sha256)
    manifest = Manifest(
        version=settings.VERSION,
        made_at=now().isoformat(timespec="seconds"),
        engine=connection.vendor,
        migrations=migrations,
        tables=tables,
        files=files,
        lost=lost,
    )
    (part / MANIFEST).write_text(manifest_text(manifest))
    (part / SUMS).write_text(sums_text(bytes_found(part)))
    return manifest


def _from_sqlite(path: Path) -> Snapshot:
    """Copy the database in one step, which keeps writers waiting for as long, and look at the copy."""
    copy = sqlite3.connect(path)
    connection.ensure_connection()
    connection.connection.backup(copy)
    copy.close()
    raw = opened(path)
    try:
        if found := sqlite_faults(raw):
            raise Damaged(found)
        migrations, files = ([row[0].decode() for row in raw.execute(sql)] for sql in (MIGRATIONS, FILES))
        return sqlite_tables(raw), migrations, files
    finally:
        raw.close()


def _from_postgresql(path: Path) -> Snapshot:
    """Dump the database; what is stated about it is read in the very snapshot that is dumped."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        cursor.execute("SELECT pg_export_snapshot()")
        snapshot = f"--snapshot={cursor.fetchone()[0]}"
        postgresql("pg_dump", "--format=custom", snapshot, "--lock-wait-timeout=10s", f"--file={path}")
        told = []
        for sql in (MIGRATIONS, FILES):
            cursor.execute(sql)
            told.append([name for (name,) in cursor.fetchall()])
        return postgresql_tables(), told[0], told[1]


def restore(archive: Path) -> Manifest:
    """Restore a backup that is whole into a place that is empty; Damaged when what came is not what was backed up."""
    manifest = looked_at(archive)
    if found := _place_faults(manifest):
        raise Damaged(found)
    kept = [sha256 for sha256 in manifest.files if sha256 not in manifest.lost]
    for name, sha256 in file_names(kept).items():
        _copy(archive / name, settings.FILES.joinpath(*place(sha256)), sha256)
    if settings.FILES.exists():
        _sync(settings.FILES)
    database = archive / DATABASE[manifest.engine]
    if manifest.engine == "sqlite":
        connection.ensure_connection()
        raw = opened(database)
        raw.backup(connection.connection)
        raw.close()
    else:
        once = ("--single-transaction", "--exit-on-error", "--no-owner", "--no-privileges", "--no-comments")
        postgresql("pg_restore", *once, f"--dbname={connection.settings_dict['NAME']}", database)
    found = [
        *table_faults(manifest.tables, tables_now()),
        *(f"File {sha256} is not as it was backed up." for sha256 in lost_files(kept, settings.FILES)),
        *(f"The trigger {name} is missing." for name in missing_triggers()),
        *(f"The journal: {fault}." for fault in faults()),
    ]
    if found:
        raise Damaged([*found, "Do not work with what was restored."])
    return manifest


def _place_faults(manifest: Manifest) -> list[str]:
    """Why a backup does not belong here."""
    if manifest.engine != connection.vendor:
        return [f"The backup is of {manifest.engine}; EBBWRIGHT_DATABASE_URL names {connection.vendor} here."]
    found = migration_faults(manifest.migrations, known_migrations())
    if connection.introspection.table_names(include_views=True):
        found.append("The database here is not empty: restore into a new one.")
    if settings.FILES.exists() and any(settings.FILES.iterdir()):
        found.append(f"{settings.FILES} is not empty: restore into a new data folder.")
    return found


def _copy(source: Path, target: Path, sha256: str) -> None:
    """Copy a file; an OSError unless its bytes are those that its name states."""
    target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    shutil.copyfile(source, target)
    if file_hash(target) != sha256:
        raise OSError(f"File {sha256} is not as it was stored.")


def _sync(folder: Path) -> None:
    """Have everything in a folder on the disk."""
    for path in (*folder.rglob("*"), folder, folder.parent):
        _sync_one(path)


def _sync_one(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
