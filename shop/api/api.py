"""Plumbing of the API's doors: problems (RFC 9457), versions (ETag, If-Match), keys, paging, one verb a method."""

import json
import logging
import re
from collections.abc import Callable, Sequence
from functools import wraps
from typing import Any, cast
from uuid import uuid4

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import exceptions
from rest_framework.pagination import CursorPagination
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer, Serializer
from rest_framework.utils.encoders import JSONEncoder
from rest_framework.views import APIView

from shop.api.actions import KeyReused, digest_of, once
from shop.api.rules import flatten, json_pointer
from shop.api.shapes import Problem
from shop.files.reads import attached, in_place
from shop.workshop.rules import Refusal, Refused, Stale

log = logging.getLogger(__name__)
JSON, PROBLEM, CSV = "application/json", "application/problem+json", "text/csv"
KEY = re.compile(r'"[!#-\[\]-~]{1,98}"')  # a quoted structured-field string, RFC 8941 section 3.3.3
# Two people did the same at the same moment, and the database let one of them through.
AT_ONCE = Refusal(
    "at-once", "Somebody else did this at the same moment. Look again, then repeat it if need be."
)
TITLES = {
    400: ("invalid", "The request is not valid"),
    401: ("not-signed-in", "Sign in first"),
    403: ("no-right", "You do not have the right to do this"),
    404: ("not-found", "There is no such thing here"),
    405: ("method", "This address does not take that method"),
    406: ("not-acceptable", "Only application/json is spoken here"),
    409: ("refused", "The state of things does not allow it"),
    412: ("stale", "It has been changed since you saw it"),
    413: ("too-large", "The request is too large"),
    415: ("media-type", "This address does not take that media type"),
    422: ("key-reused", "This Idempotency-Key came before with another request"),
    428: ("precondition-required", "Say which version you saw, with If-Match"),
    429: ("too-many", "Too many requests"),
    500: ("fault", "A fault on our side"),
    503: ("busy", "The database does not answer just now"),
}


class PreconditionRequired(exceptions.APIException):
    """A change came without If-Match."""

    status_code = 428
    default_detail = "Send If-Match with the ETag of what you saw."


def document(status: int, detail: str, errors: list[dict[str, str]] | None = None) -> dict[str, Any]:
    """A problem document; `errors` carry a code, a sentence and, for a field, its JSON pointer."""
    code, title = TITLES.get(status, TITLES[500])
    body: dict[str, Any] = {
        "type": f"/problems/{code}",
        "title": title,
        "status": status,
        "detail": detail,
        "instance": f"urn:uuid:{uuid4()}",
    }
    return body | ({"errors": errors} if errors else {})


def respond(status: int, detail: str, errors: list[dict[str, str]] | None = None) -> HttpResponse:
    """A problem as a response outside DRF: unknown addresses, faults, forged forms."""
    return JsonResponse(document(status, detail, errors), status=status, content_type=PROBLEM)


def problem(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's exception handler: every error of a door becomes one problem document with all its reasons."""
    headers: dict[str, str] = {}
    errors: list[dict[str, str]] | None = None
    match error:
        case Refused():
            status, detail = 409, str(error)
            errors = [
                {"code": r.code, "detail": r.sentence, "pointer": json_pointer(r.pointer)}
                for r in error.refusals
            ]
        case Stale():
            status, detail = 412, str(error)
        case KeyReused():
            status, detail = 422, TITLES[422][1]
        case Http404():
            status, detail = 404, TITLES[404][1]
        case PermissionDenied():
            status, detail = 403, str(error) or TITLES[403][1]
        case exceptions.ValidationError():
            status, errors = 400, flatten(error.detail)
            detail = f"{len(errors)} things are wrong." if len(errors) > 1 else "One thing is wrong."
        case exceptions.NotAuthenticated():
            status, detail = (
                401,
                "Send the header Authorization: Token, and one that was made on Your tokens.",
            )
            headers = {"WWW-Authenticate": "Token"}
        case exceptions.UnsupportedMediaType():
            takes = " or ".join(each.media_type for each in context["view"].parser_classes)
            status, detail = 415, f"Send {takes}. {error.detail}"
        case exceptions.ParseError():
            status, errors = 400, flatten(error.detail)
            detail = str(error.detail)
        case exceptions.APIException():
            status, detail = error.status_code, str(error.detail)
            headers = {"WWW-Authenticate": "Token"} if status == 401 else {}
            if wait := getattr(error, "wait", None):
                headers["Retry-After"] = str(int(wait) + 1)
        case IntegrityError():
            log.exception("A constraint of the database refused what no rule had refused.")
            status, detail = 409, AT_ONCE.sentence
            errors = [{"code": AT_ONCE.code, "detail": AT_ONCE.sentence, "pointer": ""}]
        case RecursionError():
            status, detail = 400, "The request is nested too deeply."
            errors = [{"code": "invalid", "detail": detail, "pointer": ""}]
        case OperationalError():
            log.exception("The database did not answer.")
            status, detail, headers = 503, TITLES[503][1], {"Retry-After": "2"}
        case _:
            return None
    return Response(
        document(status, detail, errors),
        status=status,
        headers=headers,
        content_type=PROBLEM,
    )


class Pages(CursorPagination):
    """Keyset paging, newest first, 50 a page and at most 200."""

    ordering = "-pk"
    page_size = 50
    max_page_size = 200
    page_size_query_param = "limit"
    cursor_query_param = "after"

    def decode_cursor(self, request: Request) -> Any:
        """Where a page begins; an address that somebody made up is refused as the library refuses others."""
        cursor = super().decode_cursor(request)
        if cursor and cursor.position is not None and not re.fullmatch(r"[0-9]{1,18}", str(cursor.position)):
            raise exceptions.NotFound(self.invalid_cursor_message)
        return cursor

    def get_page_size(self, request: Request) -> int | None:
        """How many rows a page has; refused where it is no number from 1 on."""
        given = request.query_params.get("limit", "1")
        if not re.fullmatch(r"0*[1-9][0-9]{0,8}", given):
            raise exceptions.ValidationError({"limit": ["A page has from 1 to 200 rows."]})
        return super().get_page_size(request)

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """A page as the OpenAPI document shows it; the library's own still speaks the dialect of OpenAPI 3.0."""
        link = {"type": ["string", "null"], "format": "uri"}
        parts = {"next": link, "previous": link, "results": schema}
        return {"type": "object", "required": list(parts), "properties": parts}


Maker = Callable[[Callable[..., Any]], Callable[..., Response]]


class Door(APIView):
    """One address of the API; its methods are made by `reads` and `verb`."""

    pagination_class = Pages
    needs = ""  # the right that every call needs, where the schema cannot find it in the door or its action

    @property
    def by(self) -> Any:
        """The person who acts, by session or token; their type lives in a higher room."""
        return self.request.user

    def paged(self, rows: Any, shape: type[BaseSerializer[Any]]) -> Response:
        """One page of an unordered queryset."""
        pages = self.pagination_class()
        page: list[Any] | None = pages.paginate_queryset(rows, self.request, self)
        return pages.get_paginated_response(shape(page, many=True).data)


def problems(*more: int) -> dict[tuple[int, str], OpenApiResponse]:
    """The problems that any method may answer, and those of one."""
    codes = sorted({400, 401, 403, 404, 406, 413, 415, *more})
    return {(code, PROBLEM): OpenApiResponse(Problem, TITLES[code][1]) for code in codes}


def tag(row: Any) -> dict[str, str]:
    """The ETag of an editable row; nothing for a row without a version."""
    version = getattr(row, "version", None)
    return {} if version is None else {"ETag": f'"{version}"'}


def reads(
    gives: type[BaseSerializer[Any]],
    many: bool = False,
    filters: tuple[str, ...] = (),
    drawn: bool = False,
) -> Maker:
    """Make a GET: the method returns a row (with its ETag), a queryset that is paged, or what is `drawn` already."""
    known = (*filters, *(("after", "limit") if many else ()))
    unchanged = {} if many else {304: OpenApiResponse(description="Its ETag is that of If-None-Match.")}

    def make(method: Callable[..., Any]) -> Callable[..., Response]:
        @extend_schema(
            summary=method.__doc__,
            parameters=_filters(filters, paged=many),
            responses={(200, JSON): gives(many=True) if many else gives, **unchanged, **problems()},
        )
        @wraps(method)
        def get(self: Door, request: Request, **kwargs: Any) -> Response:
            _only(known, request)
            row = method(self, request, **kwargs)
            if many:
                return self.paged(row, gives)
            if drawn:
                return Response(row)
            if request.headers.get("If-None-Match") in tag(row).values():
                return Response(status=304, headers=tag(row))
            return Response(gives(row).data, headers=tag(row))

        return get

    return make


def _only(known: Sequence[str], request: Request) -> None:
    """Refuse every parameter of a query that is not known, instead of answering as if it had not been asked."""
    names = ", ".join(known)
    said = f"There is no such parameter here; known: {names}." if known else "No parameter is known here."
    if unknown := sorted(set(request.query_params) - set(known)):
        raise exceptions.ValidationError({name: [said] for name in unknown})


def _filters(names: tuple[str, ...], *, paged: bool) -> list[OpenApiParameter]:
    found = [OpenApiParameter(name, OpenApiTypes.STR) for name in names]
    if paged:
        found.append(OpenApiParameter("after", OpenApiTypes.STR, description="Where the next page begins."))
        found.append(OpenApiParameter("limit", OpenApiTypes.INT, description="Rows a page, 200 at most."))
    return found


def seen_by(request: Request) -> int:
    """The version that If-Match names: 428 without it, and a weak, foreign or unknown tag is stale."""
    given = request.headers.get("If-Match", "").strip()
    if not given:
        raise PreconditionRequired
    found = re.fullmatch(r'"(\d{1,9})"', given)
    if not found:
        raise Stale(None)
    return int(found[1])


def key_of(request: Request) -> str:
    """The Idempotency-Key without its quotes; 400 when it is missing or malformed."""
    given = request.headers.get("Idempotency-Key", "").strip()
    if not KEY.fullmatch(given):
        raise exceptions.ValidationError(
            {
                "Idempotency-Key": [
                    'Send a text of your own in quotes, at most 98 characters: Idempotency-Key: "order-1001".'
                ]
            }
        )
    return given.strip('"')


def _key_or_wrong(request: Request) -> tuple[str, dict[str, Any]]:
    try:
        return key_of(request), {}
    except exceptions.ValidationError as error:
        return "", {"Idempotency-Key": cast(dict[str, Any], error.detail)["Idempotency-Key"]}


def _valid(takes: type[Serializer[Any]], request: Request, wrong: dict[str, Any]) -> Serializer[Any]:
    """The shape of a body that is as it must be; refused together with what is `wrong` already."""
    try:
        shape = takes(data=request.data)
    except exceptions.ParseError as error:
        raise exceptions.ValidationError(wrong | {"non_field_errors": [error.detail]}) from None
    if not shape.is_valid() or wrong:
        raise exceptions.ValidationError(wrong | shape.errors)
    return shape


_KEY = OpenApiParameter(
    "Idempotency-Key",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    required=True,
    description="A quoted text of your choice; the same key within 24 hours is answered as before. Our own reading "
    "of draft-ietf-httpapi-idempotency-key-header-07, which has expired.",
)
_MATCH = OpenApiParameter(
    "If-Match",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    required=True,
    description="The ETag of what you saw.",
)


def verb(
    takes: type[Serializer[Any]],
    gives: type[BaseSerializer[Any]],
    *,
    seen: bool = False,
    creates: bool = False,
) -> Maker:
    """Make a POST or PATCH: check the shape, call the method (one action), answer with the row it returns.

    `seen` asks for If-Match and passes it on; `creates` asks for Idempotency-Key, answers 201 and runs inside `once`.
    """
    status = 201 if creates else 200
    codes = (409, *((412, 428) if seen else ()), *((422,) if creates else ()))

    def make(method: Callable[..., Any]) -> Callable[..., Response]:
        @extend_schema(
            summary=method.__doc__,
            request=takes,
            parameters=[*([_MATCH] if seen else []), *([_KEY] if creates else [])],
            responses={(status, JSON): gives, **problems(*codes)},
        )
        @wraps(method)
        def act(self: Door, request: Request, **kwargs: Any) -> Response:
            key, wrong = _key_or_wrong(request) if creates else ("", {})
            if seen and not wrong:
                kwargs["seen"] = seen_by(request)
            shape = _valid(takes, request, wrong)

            def done() -> tuple[Any, dict[str, str]]:
                row = method(self, request, data=shape.validated_data, **kwargs)
                return gives(row).data, tag(row)

            if not creates:
                data, headers = done()
                return Response(data, status=status, headers=headers)
            # A token narrower than the one that asked first must not be answered as that one was.
            scopes = sorted(self.by.scopes) if self.by.scopes is not None else None
            digest = digest_of(request.method or "", request.path, [scopes, request.data])
            code, body, before = once(
                self.by.uid, key, digest, lambda: (status, json.dumps(done(), cls=JSONEncoder))
            )
            data, headers = json.loads(body)
            return Response(
                data, status=code, headers=headers | ({"Idempotent-Replay": "true"} if before else {})
            )

        return act

    return make


def sends(media_type: str, name: str = "") -> Callable[[Callable[..., Any]], Callable[..., HttpResponse]]:
    """Make a GET that answers with the bytes its method returns, to be taken away where they have a name."""

    def make(method: Callable[..., Any]) -> Callable[..., HttpResponse]:
        @extend_schema(
            summary=method.__doc__,
            responses={(200, media_type): OpenApiTypes.BINARY, **problems()},
        )
        @wraps(method)
        def get(self: Door, request: Request, **kwargs: Any) -> HttpResponse:
            content = method(self, request, **kwargs)
            return attached(content, media_type, name) if name else in_place(content, media_type)

        return get

    return make


class FileRenderer(BaseRenderer):
    """Lets a client ask for a file by its media type; what is refused is a problem in JSON all the same."""

    charset = None

    def render(self, data: Any, accepted_media_type: str | None = None, renderer_context: Any = None) -> Any:
        return JSONRenderer().render(data, None, renderer_context)


class CsvRenderer(FileRenderer):
    media_type, format = CSV, "csv"


@csrf_exempt
def not_found(request: HttpRequest) -> HttpResponse:
    """The problem for an address of the API that does not exist."""
    return respond(404, TITLES[404][1])
