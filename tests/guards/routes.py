"""Every address of the project, read from the URL table itself."""

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

from django.urls import URLResolver, get_resolver

API = "api/v1/"
# The API's last pattern answers every unknown address with a problem; it is no address of its own.
ELSEWHERE = "api/v1/^.*$"
VERBS = ("GET", "POST", "PUT", "PATCH", "DELETE")


def _walk(patterns: Any, start: str = "") -> Iterator[tuple[str, Any]]:
    for each in patterns:
        if isinstance(each, URLResolver):
            yield from _walk(each.url_patterns, start + str(each.pattern))
        else:
            yield start + str(each.pattern), each.callback


def _methods(view: Any) -> set[str]:
    """The methods that a view's class implements and its address lets through; HEAD and OPTIONS are the library's."""
    kind = getattr(view, "view_class", None) or view.cls
    allowed = view.view_initkwargs.get("http_method_names", kind.http_method_names)
    return {name.upper() for name in allowed if hasattr(kind, name)} - {"HEAD", "OPTIONS"}


@cache
def routes() -> dict[str, set[str]]:
    """Each address as written in the URL table, with its methods."""
    return {route: _methods(view) for route, view in _walk(get_resolver().url_patterns) if route != ELSEWHERE}


def braced(route: str) -> str:
    """A route as OpenAPI writes it."""
    return "/" + re.sub(r"<\w+:(\w+)>", r"{\1}", route)


def address(route: str, uid: object, key: str) -> str:
    """A route with its parameters filled in; several keys stand in one text, with / between."""
    filled, keys = re.sub(r"<uuid:\w+>", str(uid), route), key.split("/")
    return "/" + re.sub(r"<(?:slug|int):\w+>", lambda _: keys.pop(0) if len(keys) > 1 else keys[0], filled)
