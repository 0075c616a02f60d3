"""Three inventories of the API are equal: the URL table, the OpenAPI document, and the entries of the permission matrix."""

from typing import Any

import yaml

from tests.conftest import ROOT
from tests.guards.entries import ENTRIES
from tests.guards.routes import API, braced, routes

NOT_OF_ITSELF = "api/v1/schema"  # the document does not describe its own address


def of_urls() -> set[tuple[str, str]]:
    """Every (path, method) of the URL table."""
    return {
        (braced(route), method)
        for route, methods in routes().items()
        for method in methods
        if route.startswith(API) and route != NOT_OF_ITSELF
    }


def of_document() -> set[tuple[str, str]]:
    """Every (path, method) of the OpenAPI document, which `test_schema` holds against the code."""
    document: Any = yaml.safe_load((ROOT / "tests" / "schema.yaml").read_text())
    return {(path, method.upper()) for path, methods in document["paths"].items() for method in methods}


def of_matrix() -> set[tuple[str, str]]:
    """Every (path, method) of the matrix."""
    return {
        (braced(route), method)
        for route, methods in ENTRIES.items()
        for method in methods
        if route.startswith(API) and route != NOT_OF_ITSELF
    }


def test_it_works() -> None:
    assert ("/api/v1/jobs/{uid}/steps/{key}", "POST") in of_urls()


def test_it_finds_the_url_table_in_the_document() -> None:
    assert sorted(of_urls() ^ of_document()) == []


def test_it_finds_the_document_in_the_matrix() -> None:
    assert sorted(of_document() ^ of_matrix()) == []
