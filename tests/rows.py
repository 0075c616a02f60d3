"""What a refusal must leave behind: a problem that names its reasons, and every table as it was."""

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from typing import Any

from django.db import connection
from django.test import Client

# Signing in writes here, and so may any page; and wrong tries are counted because they are refused.
LEFT_OUT = {"django_session", "signin_kept", "staff_wrongtry"}


def fingerprint() -> dict[str, str]:
    """A SHA-256 over all rows of each table; the tables are read from the database itself."""
    found = {}
    for table in sorted(set(connection.introspection.table_names()) - LEFT_OUT):
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            rows = sorted(repr(row) for row in cursor.fetchall())
        found[table] = hashlib.sha256("\n".join(rows).encode()).hexdigest()
    return found


@contextmanager
def nothing_changes() -> Iterator[None]:
    """Whatever happens inside leaves every row of every table as it was."""
    before = fingerprint()
    assert before
    yield
    after = fingerprint()
    changed = [table for table in before if before[table] != after[table]]
    assert not changed, f"changed: {', '.join(changed)}"


def codes(answer: Any, status: int = 409) -> list[str]:
    """The codes of a problem document with the expected status, in its order."""
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"] == "application/problem+json"
    body = answer.json()
    assert body["status"] == status
    return [error["code"] for error in body.get("errors", [])]


def sentences(answer: Any, status: int = 409) -> list[str]:
    """The sentences of a problem document with the expected status."""
    assert answer.status_code == status, answer.content
    return [error["detail"] for error in answer.json()["errors"]]


def pointers(answer: Any) -> list[str]:
    """The fields that a 400 names, sorted."""
    assert answer.status_code == 400, answer.content
    assert answer["Content-Type"] == "application/problem+json"
    return sorted({error["pointer"] for error in answer.json()["errors"]})


def hidden(page: Any, name: str) -> str:
    """The value of a hidden field of the page's own form (not of the sign-out form)."""
    return next(str(each["value"]) for each in page.context["form"].hidden if each["name"] == name)


def send(client: Client, path: str, data: dict[str, Any]) -> Any:
    """Fill the form at a path as a browser does: its hidden fields go back with what was typed."""
    page = client.get(path)
    assert page.status_code == 200, page.content
    carried = {each["name"]: each["value"] for each in page.context["form"].hidden}
    return client.post(path, carried | data)


def said(page: Any, status: int = 409) -> str:
    """The text of a page with the expected status, entities resolved."""
    assert page.status_code == status, page.content
    return unescape(page.content.decode())
