"""P3: whoever sends every column there is along with what is asked for writes none of them, and is shown no secret."""

import re
from typing import Any

import pytest
import yaml
from django.apps import apps
from django.db import connection, transaction
from django.urls import resolve

from tests.guards.bodies import Entry
from tests.guards.conftest import stage as stage
from tests.guards.conftest import world as world
from tests.guards.conftest import world_of_the_file as world_of_the_file
from tests.guards.entries import ENTRIES, somebody
from tests.guards.routes import API, address
from tests.guards.test_schema import SAVED
from tests.guards.world import World
from tests.rows import LEFT_OUT, pointers

COLUMNS = {
    name
    for model in apps.get_models()
    if model.__module__.startswith(("shop.", "jobs."))
    for field in model._meta.concrete_fields
    for name in (field.name, field.attname)
}
# What two runs of the same never share: uids, hashes, salts, times.
CHANCE = re.compile(
    r"[0-9a-f]{8}-?[0-9a-f]{4}-?[0-9a-f]{4}-?[0-9a-f]{4}-?[0-9a-f]{12}|[0-9a-f]{16,}|b'.*?'|b\".*?\""
    r"|datetime\.datetime\(.*?\)|\d{4}-\d\d-\d\d[T ][\d:.]+|'!?[\w$/+=-]{15,}'"
)
# The fields of its form are named as columns are.
FORM_OF_COLUMNS = "office/bring-in/<uuid:uid>/columns"
SECRETS = {"password", "signing_secret", "second_secret", "token_key", "salt"}
Cell = tuple[str, str, Entry]


def cells(*, api: bool) -> list[Cell]:
    """Every method that changes something, of the API or of the pages, and whose body is no file when it is the API's."""
    found = [
        (route, method, entry)
        for route, methods in ENTRIES.items()
        for method, entry in methods.items()
        if method != "GET" and route.startswith(API) == api and not entry.public
    ]
    files = ("@@photograph", "@@sheet", "@@document")
    return [c for c in found if not (api and any(each in files for each in (c[2].body or {}).values()))]


def with_more(entry: Entry, known: set[str]) -> Entry:
    """The same request with every other column in it."""
    more = dict.fromkeys(sorted(COLUMNS - known), "1")
    return Entry(entry.right, entry.row, entry.key, more | (entry.body or {}))


def taken(route: str, entry: Entry, world: World) -> set[str]:
    """The fields of a page's form, and what each form carries."""
    path = world.path(route, entry, somebody(entry))
    shape = getattr(getattr(resolve(path).func, "view_class", None), "takes", None)
    return (
        {"seen", "once"} | set(entry.body or {}) | (set(shape().fields) if isinstance(shape, type) else set())
    )


def rows() -> dict[str, list[str]]:
    """Every row of every table, without what chance or the clock puts into it."""
    found = {}
    with connection.cursor() as cursor:
        for table in sorted(set(connection.introspection.table_names()) - LEFT_OUT):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            found[table] = sorted(CHANCE.sub("?", repr(row)) for row in cursor.fetchall())
    return found


def done(world: World, cell: Cell) -> tuple[int, dict[str, list[str]]]:
    """The status of a request and every row after it; then it is taken back."""
    route, method, entry = cell
    with transaction.atomic():
        status = world.send(somebody(entry), method, route, entry).status_code
        left = rows()
        transaction.set_rollback(True)
    return status, left


def test_it_works(world: World) -> None:
    """By API each one is named and nothing is written at all."""
    document = yaml.safe_load(SAVED.read_text())
    parts = document["components"]["schemas"]
    wrong, before = [], rows()
    for route, method, entry in cells(api=True):
        operation = document["paths"]["/" + re.sub(r"<\w+:(\w+)>", r"{\1}", route)][method.lower()]
        body = (
            operation.get("requestBody", {}).get("content", {}).get("application/json", {}).get("schema", {})
        )
        shape = parts.get(body.get("$ref", "").rpartition("/")[2], {})
        known = set(shape.get("properties", {}))
        more = with_more(entry, known)
        answer = world.send(somebody(entry), method, route, more)
        if answer.status_code != 400 or not {f"/{each}" for each in COLUMNS - known} <= set(pointers(answer)):
            wrong.append(f"{method} /{route}: {answer.status_code}")

    assert not wrong, "\n".join(wrong)
    assert rows() == before


def test_it_writes_nothing_of_it_by_page(world: World) -> None:
    wrong, written = [], 0
    before = rows()
    for route, method, entry in cells(api=False):
        if route == FORM_OF_COLUMNS:
            continue
        plain = done(world, (route, method, entry))
        more = done(world, (route, method, with_more(entry, taken(route, entry, world))))
        written += plain[1] != before
        if plain != more:
            tables = [name for name, left in plain[1].items() if left != more[1][name]]
            wrong.append(f"{method} {address(route, '…', entry.key)}: {plain[0]}, {more[0]}, {tables}")

    assert not wrong, "\n".join(wrong)
    assert written > 40


def test_it_is_told_no_secret() -> None:
    """No answer of the API has a field that holds one; a new token is shown once."""
    document: dict[str, Any] = yaml.safe_load(SAVED.read_text())
    shown = {
        (name, field)
        for name, shape in document["components"]["schemas"].items()
        if name.endswith("Out")
        for field in shape.get("properties", {})
    }

    assert {(name, field) for name, field in shown if field in SECRETS or "secret" in field} == {
        ("NewTokenOut", "secret")
    }
    assert len(shown) > 200


@pytest.mark.parametrize("name", ["password", "signing_secret", "by_id", "version", "uid", "merged_into"])
def test_it_asks_for_every_column(name: str) -> None:
    assert name in COLUMNS
