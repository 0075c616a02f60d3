"""Raw SQL past every rule of ours, for guards that try what the database itself refuses."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction

POSTGRESQL = connection.vendor == "postgresql"
SUMMED = "on hand is the sum of the movements"


def run(sql: str, *values: Any) -> None:
    """One statement, with deferred constraints looked at straight away."""
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        if POSTGRESQL:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


@contextmanager
def refused(name: str) -> Iterator[None]:
    """What is inside breaks the constraint of that name (SQLite names the columns of a unique one instead)."""
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        yield


def a_row(table: str) -> dict[str, Any]:
    """The newest row of a table, as stored."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table} ORDER BY id DESC LIMIT 1")
        found = cursor.fetchone()
        assert found is not None, f"{table} is empty"
        return dict(zip((column[0] for column in cursor.description), found, strict=True))


def again(table: str, **changes: Any) -> None:
    """The newest row of a table once more, under a fresh id and uid, with changes."""
    row = a_row(table) | ({"uid": uuid4().hex} if "uid" in a_row(table) else {}) | changes
    del row["id"]
    columns, marks = ", ".join(f'"{name}"' for name in row), ", ".join("%s" for _ in row)
    run(f"INSERT INTO {table} ({columns}) VALUES ({marks})", *row.values())


def changed(table: str, **changes: Any) -> None:
    """The newest row of a table, changed in place."""
    columns = ", ".join(f'"{name}" = %s' for name in changes)
    run(f"UPDATE {table} SET {columns} WHERE id = %s", *changes.values(), a_row(table)["id"])
