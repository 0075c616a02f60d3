"""Pointers to what is wrong in a problem document; the OpenAPI document made the same on both engines. Pure."""

from typing import Any


def flatten(detail: Any, pointer: str = "") -> list[dict[str, str]]:
    """Nested validation errors as a flat list with JSON pointers."""
    if isinstance(detail, dict):
        return [
            error
            for key, value in detail.items()
            for error in flatten(
                value, pointer if key == "non_field_errors" else f"{pointer}/{_escaped(key)}"
            )
        ]
    if isinstance(detail, list):
        nested = any(isinstance(each, dict | list) for each in detail)
        return [
            error
            for i, each in enumerate(detail)
            for error in flatten(each, f"{pointer}/{i}" if nested else pointer)
        ]
    code = getattr(detail, "code", "invalid")
    return [{"code": code, "detail": _sendable(str(detail)), "pointer": _sendable(pointer)}]


def _escaped(key: object) -> str:
    """A name inside a JSON pointer, RFC 6901 section 3."""
    return str(key).replace("~", "~0").replace("/", "~1")


def _sendable(text: str) -> str:
    """What came in may hold half of a surrogate pair, which no answer can carry."""
    return text.encode(errors="replace").decode()


def json_pointer(control: str) -> str:
    """The JSON pointer (RFC 6901) of what a page's control such as `lines-1-item` is for."""
    return "/" + control.replace("-", "/") if control else ""


ENGINE_RANGES = {2**31 - 1, -(2**31), 2**63 - 1, -(2**63)}


def engine_free(result: Any, **_: Any) -> Any:
    """The OpenAPI document without the integer ranges of the database, so that it is one document on both engines."""
    parts = list(result.values()) if isinstance(result, dict) else result if isinstance(result, list) else []
    for part in parts:
        engine_free(part)
    for name in ("maximum", "minimum"):
        if isinstance(result, dict) and isinstance(result.get(name), int) and result[name] in ENGINE_RANGES:
            del result[name]
            result.pop("format", None)
    return result
