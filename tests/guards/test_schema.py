"""The OpenAPI document is the one that was looked at last, it is valid, and the doors answer as it says.

After a wanted change: `python manage.py spectacular --file tests/schema.yaml`, then read the difference.
"""

from io import StringIO
from typing import Any

import pytest
import yaml
from django.core.management import call_command
from django.db import transaction
from jsonschema import Draft202012Validator

from tests.conftest import ROOT
from tests.guards.entries import API, somebody
from tests.guards.routes import braced
from tests.guards.world import World

SAVED = ROOT / "tests" / "schema.yaml"
PROBLEM = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}


def generated() -> str:
    """The document as the code makes it now; any warning is a failure."""
    out = StringIO()
    call_command("spectacular", validate=True, fail_on_warn=True, stdout=out)
    return out.getvalue()


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    """The generated document, read."""
    found: dict[str, Any] = yaml.safe_load(generated())
    return found


def operations(document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Every operation of a document by "METHOD /path"."""
    return {
        f"{method.upper()} {path}": operation
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    }


def unlike(document: dict[str, Any], operation: dict[str, Any], answer: Any) -> list[str]:
    """In what an answer differs from what its operation documents."""
    content = operation["responses"].get(str(answer.status_code), {}).get("content", {})
    shape = content.get(answer.headers["Content-Type"], {}).get("schema")
    if shape is None:
        return [f"{answer.status_code} {answer.headers['Content-Type']} is not documented"]
    if answer.headers["Content-Type"] == "application/pdf":
        return [] if answer.content.startswith(b"%PDF-") else ["it is no PDF"]
    if "json" not in answer.headers["Content-Type"]:
        return []  # bytes have no inner shape
    whole = {**shape, "components": document["components"]}
    return [error.message for error in Draft202012Validator(whole).iter_errors(answer.json())]


def test_it_works(document: dict[str, Any]) -> None:
    assert document["openapi"] == "3.1.1"
    assert "GET /api/v1/jobs/{uid}" in operations(document)


def test_it_is_the_saved_document() -> None:
    assert generated() == SAVED.read_text()


def test_it_documents_every_refusal(document: dict[str, Any]) -> None:
    found = [
        f"{name}: {code}"
        for name, operation in operations(document).items()
        for code in ("400", "401", "403", "404")
        if operation["responses"].get(code, {}).get("content") != PROBLEM
    ]

    assert found == []


def test_it_says_what_every_operation_does(document: dict[str, Any]) -> None:
    assert [name for name, operation in operations(document).items() if not operation.get("summary")] == []


def test_it_says_which_scope_a_call_needs(document: dict[str, Any]) -> None:
    """That of the table, which the permission matrix holds to what the doors ask for."""
    found, said = [], "Scope that a token needs: "
    for route, method, entry in [(r, m, e) for r, es in API.items() for m, e in es.items() if r != "schema"]:
        name = f"{method} {braced(f'api/v1/{route}')}"
        told = operations(document)[name].get("description", "").partition(said)[2].rstrip(".").split(" or ")
        if (entry.right or "") not in told:
            found.append(f"{name}: {entry.right}, not {told}")

    assert found == []


def test_it_answers_as_documented(world: World, document: dict[str, Any]) -> None:
    """Each entry's valid request by somebody who may, and the same by a stranger."""
    found = []
    for route, method, entry in [(r, m, e) for r, es in API.items() for m, e in es.items() if r != "schema"]:
        operation = operations(document)[f"{method} {braced(f'api/v1/{route}')}"]
        for role in ("stranger", somebody(entry)):
            with transaction.atomic():
                answer = world.send(role, method, f"api/v1/{route}", entry)
                transaction.set_rollback(True)
            found += [f"{role} {method} {route}: {said}" for said in unlike(document, operation, answer)]

    assert found == []
