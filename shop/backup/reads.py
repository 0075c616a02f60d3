"""Hash the rows of either engine and the bytes of a backup; find what is wrong with a backup."""

import hashlib
import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterable
from pathlib import Path

from django.db import connection, transaction
from django.db.migrations.loader import MigrationLoader

from shop.backup.rules import (
    DATABASE,
    MANIFEST,
    SUMS,
    Manifest,
    Table,
    byte_faults,
    read_manifest,
    read_sums,
    table_faults,
)
from shop.files.rules import place

# Tables with the columns of their primary key; texts in the order of their bytes, whatever the server's locale is.
POSTGRESQL_TABLES = """
    SELECT c.relname, string_agg(
        quote_ident(a.attname) || CASE WHEN a.attcollation <> 0 THEN ' COLLATE "C"' ELSE '' END,
        ', ' ORDER BY array_position(i.indkey::int2[], a.attnum))
    FROM pg_class c
    JOIN pg_index i ON i.indrelid = c.oid AND i.indisprimary
    JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = ANY(i.indkey)
    WHERE c.relkind = 'r' AND c.relnamespace = current_schema()::regnamespace
    GROUP BY c.relname
"""


class Damaged(Exception):
    """A backup that must not be relied on; `faults` are sentences."""

    def __init__(self, faults: list[str]):
        super().__init__(" ".join(faults))
        self.faults = faults


def known_migrations() -> list[str]:
    """The migrations of this version."""
    disk = MigrationLoader(None, ignore_no_migrations=True).disk_migrations or {}
    return sorted(f"{app}.{name}" for app, name in disk)


def file_hash(path: Path) -> str:
    """The SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def opened(path: Path) -> sqlite3.Connection:
    """An SQLite database that is only read and that nobody writes; text comes as the bytes that are stored."""
    raw = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
    raw.text_factory = bytes
    return raw


def sqlite_tables(raw: sqlite3.Connection) -> dict[str, Table]:
    """Every table but virtual ones, whose rows are in tables of their own."""
    names = raw.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND sql NOT LIKE 'CREATE VIRTUAL%'"
    )
    found = {}
    for name in [row[0].decode() for row in names.fetchall()]:
        columns = raw.execute(f'PRAGMA table_info("{name}")').fetchall()  # fields: 1 name, 5 place in the key
        keys = [f'"{row[1].decode()}"' for row in sorted(columns, key=lambda row: row[5]) if row[5]]
        order = ", ".join(keys) or "rowid"
        found[name] = _hashed(
            repr(row).encode() + b"\n"
            for row in raw.execute(f'SELECT * FROM "{name}" ORDER BY {order}')  # noqa: S608 - names of tables
        )
    return found


def postgresql_tables() -> dict[str, Table]:
    """Every table of our schema, in the transaction that is open."""
    found = {}
    with connection.cursor() as cursor:
        cursor.execute(
            "SET LOCAL TimeZone = 'UTC'; SET LOCAL DateStyle = 'ISO'; SET LOCAL bytea_output = 'hex'"
        )
        cursor.execute(POSTGRESQL_TABLES)
        for name, order in cursor.fetchall():
            rows = f'SELECT * FROM "{name}" ORDER BY {order}'  # noqa: S608 - names out of the catalogue
            with cursor.copy(f"COPY ({rows}) TO STDOUT") as copied:
                found[name] = _hashed(bytes(each) for each in copied)
    return found


def _hashed(parts: Iterable[bytes]) -> Table:
    """A Table of texts that end each row with a line break and have no other."""
    rows, digest = 0, hashlib.sha256()
    for part in parts:
        rows += part.count(b"\n")
        digest.update(part)
    return Table(rows, digest.hexdigest())


def tables_now() -> dict[str, Table]:
    """Every table of the database that is in use."""
    if connection.vendor == "sqlite":
        raw = opened(Path(connection.settings_dict["NAME"]))
        try:
            return sqlite_tables(raw)
        finally:
            raw.close()
    with transaction.atomic():
        return postgresql_tables()


def postgresql(program: str, *arguments: str | Path) -> None:
    """Run a program of PostgreSQL's client on our database; Damaged with what it said when it fails."""
    versions = sorted(
        Path("/usr/lib/postgresql").glob(f"*/bin/{program}"), key=lambda path: float(path.parts[4])
    )
    found = shutil.which(program) or (str(versions[-1]) if versions else "")
    if not found:
        raise Damaged([f"{program} is not on this machine: install PostgreSQL's client programs."])
    known = connection.settings_dict
    told = {f"PG{name}": str(known[name]) for name in ("HOST", "PORT", "USER", "PASSWORD")}
    done = subprocess.run(  # noqa: S603 - a program of PostgreSQL, with arguments of our own
        [found, *arguments],
        env={**os.environ, **told, "PGDATABASE": known["NAME"], "PGCONNECT_TIMEOUT": "10"},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
    )
    if done.returncode:
        raise Damaged([f"{program}: {done.stderr.strip() or 'failed without a word'}"])


def bytes_found(archive: Path) -> dict[str, str]:
    """The SHA-256 of every file in a backup but of the list itself."""
    files = (path for path in archive.rglob("*") if not path.is_dir())
    found = {path.relative_to(archive).as_posix(): file_hash(path) for path in files}
    found.pop(SUMS, None)
    return found


def file_names(files: Iterable[str]) -> dict[str, str]:
    """Where files lie in a backup, by their SHA-256."""
    return {"/".join(("files", *place(sha256))): sha256 for sha256 in files}


def looked_at(archive: Path) -> Manifest:
    """The manifest of a backup that is whole; Damaged with every fault otherwise. Nothing is written."""
    try:
        stated = read_sums((archive / SUMS).read_text())
        found = bytes_found(archive)
        if faults := byte_faults(stated, found):
            raise Damaged(faults)
        manifest = read_manifest((archive / MANIFEST).read_text())
    except OSError as error:
        raise Damaged([f"{archive} is not a backup that can be read: {error}"]) from error
    except ValueError as error:
        raise Damaged([str(error)]) from error
    names = file_names(set(manifest.files) - set(manifest.lost))
    others = {name: sha256 for name, sha256 in found.items() if name not in (MANIFEST, *DATABASE.values())}
    faults = byte_faults(names, others) + database_faults(archive / DATABASE[manifest.engine], manifest)
    if faults:
        raise Damaged(faults)
    return manifest


def database_faults(path: Path, manifest: Manifest) -> list[str]:
    """What is wrong with the database in a backup; rows of PostgreSQL are compared only once they are restored."""
    if manifest.engine == "postgresql":
        try:
            postgresql("pg_restore", "--file=/dev/null", path)
        except Damaged as error:
            return error.faults
        return []
    try:
        raw = opened(path)
    except sqlite3.Error as error:
        return [f"{path.name} cannot be opened: {error}"]
    try:
        return sqlite_faults(raw) + table_faults(manifest.tables, sqlite_tables(raw))
    except sqlite3.Error as error:
        return [f"{path.name} cannot be read: {error}"]
    finally:
        raw.close()


def sqlite_faults(raw: sqlite3.Connection) -> list[str]:
    """What SQLite itself finds wrong with a database."""
    said = [row[0].decode() for row in raw.execute("PRAGMA integrity_check").fetchall()]
    loose = raw.execute("PRAGMA foreign_key_check").fetchall()
    return [f"SQLite says: {each}" for each in said if each != "ok"] + [
        f"Row {row[1]} of table {row[0].decode()} points at a row of {row[2].decode()} that is not there."
        for row in loose
    ]


def lost_files(files: Iterable[str], folder: Path) -> list[str]:
    """Those of the files that are not below a folder, or not as they were stored."""
    paths = {sha256: folder.joinpath(*place(sha256)) for sha256 in files}
    return sorted(sha256 for sha256, path in paths.items() if not path.is_file() or file_hash(path) != sha256)
