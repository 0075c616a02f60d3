"""The WSGI entry point; a web server runs no start-up checks, so unsafe settings are refused here."""

import os
from collections.abc import Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application
from django.utils.http import parse_header_parameters

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
django = get_wsgi_application()

from shop.health.apps import refuse_unsafe  # noqa: E402 - settings are read by then

refuse_unsafe()


def readable(content_type: str) -> str:
    """A content type as it came, or one that no door takes when it asks for another charset than UTF-8.

    Django reads the query in that charset too, before any code of ours, and fails on one that is made up.
    """
    try:
        charset = parse_header_parameters(content_type)[1].get("charset", "utf-8")
    except (LookupError, ValueError):
        charset = ""
    return content_type if charset.lower() in {"utf-8", "utf8"} else "application/octet-stream"


def application(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """Django's own application, which is told content types that it can read."""
    environ["CONTENT_TYPE"] = readable(environ.get("CONTENT_TYPE", ""))
    return django(environ, start_response)
