"""The shapes every room shares: a problem, what a body of JSON and what a field may hold."""

import json
import math
import re
from decimal import Decimal
from functools import cached_property
from typing import IO, Any, NoReturn, cast

from django.core.exceptions import ValidationError as DjangoValidationError
from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser
from rest_framework.utils.html import is_html_input

from shop.workshop.reads import currency
from shop.workshop.rules import money, smallest

LONGEST, MOST = 500, 20_000  # entries of one list or object of a body, and of a whole body


class ProblemError(serializers.Serializer[Any]):
    """One reason: a stable code, a sentence, and a JSON pointer to the field it concerns (may be empty)."""

    code = serializers.CharField()
    detail = serializers.CharField()
    pointer = serializers.CharField(allow_blank=True)


class Problem(serializers.Serializer[Any]):
    """A problem document after RFC 9457, sent as application/problem+json."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    instance = serializers.CharField()
    errors = ProblemError(many=True, required=False)  # type: ignore[assignment]  # the standard's member hides DRF's own


class Shape(serializers.Serializer[Any]):
    """The base of every input: in JSON, a field that is not known is refused instead of ignored."""

    def to_internal_value(self, data: Any) -> Any:
        known = is_html_input(data) or not isinstance(data, dict)
        unknown = [] if known else sorted(str(key) for key in data if key not in self.fields)
        wrong: dict[str, Any] = {key: ["There is no such field."] for key in unknown}
        try:
            value = super().to_internal_value(data)
        except serializers.ValidationError as error:
            found = cast(dict[str, Any], error.detail)  # of a serializer it is always by field
            raise serializers.ValidationError(wrong | found) from None
        if wrong:
            raise serializers.ValidationError(wrong)
        return value


class Nothing(Shape):
    """A verb that needs no words."""


class StrictJSON(JSONParser):
    """JSON in UTF-8 that every reader reads alike: each name once, no number beyond what a float holds (RFC 8259)."""

    def parse(self, stream: IO[Any], media_type: str | None = None, parser_context: Any = None) -> Any:
        raw: bytes = stream.read()
        read: Any = {"object_pairs_hook": _each_once, "parse_float": _finite, "parse_constant": _no_number}
        try:
            if sum(raw.count(sign) for sign in (b",", b"[", b"{")) > MOST:  # before anything is made of it
                raise ValueError(f"More than {MOST} entries.")
            found = json.loads(raw.decode(), **read)
            _no_long_lists(found)
        except ValueError as error:
            raise ParseError(f"JSON parse error - {error}") from None
        return found


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("A name stands twice in one object.")
    if len(found) > LONGEST:  # each that is not known would be named in the answer
        raise ValueError(f"More than {LONGEST} names in one object.")
    return found


def _no_long_lists(found: Any) -> None:
    waiting = [found]
    while waiting:
        each = waiting.pop()
        if isinstance(each, dict):
            waiting.extend(each.values())
        elif isinstance(each, list):
            if len(each) > LONGEST:  # each may be looked for in the database
                raise ValueError(f"More than {LONGEST} entries in one list.")
            waiting.extend(each)


def _finite(text: str) -> float:
    number = float(text)
    return number if math.isfinite(number) else _no_number(text)


def _no_number(text: str) -> NoReturn:
    raise ValueError(f"{text[:20]} is no number that can be kept.")


@extend_schema_field(OpenApiTypes.BINARY)
class UploadField(serializers.FileField):
    """A file that is sent, as the OpenAPI document must show it; the library would show an address."""


class AddressField(serializers.EmailField):
    """An e-mail address that can stand in a header as it is: no quotes, no encoded words, no control characters."""

    def to_internal_value(self, data: Any) -> str:
        text = str(super().to_internal_value(data))
        if '"' in text or "=?" in text or any(ord(sign) < 33 for sign in text):
            raise serializers.ValidationError("This address cannot be written to.")
        return text


class RowField(serializers.SlugRelatedField[Any]):
    """A row by its uid; of one that is not there it is said in words what there is not."""

    def __init__(self, *, queryset: QuerySet[Any], what: str = "", **more: Any):
        self.rows, name = queryset, what or str(queryset.model._meta.verbose_name)
        said: dict[str, Any] = {
            "does_not_exist": f"There is no {name} {{value}}.",
            "invalid": f"That names no {name}.",
        }
        super().__init__(slug_field="uid", queryset=queryset, error_messages=said, **more)

    def to_internal_value(self, data: Any) -> Any:
        try:
            return super().to_internal_value(data)
        except DjangoValidationError:  # no uid at all
            self.fail("does_not_exist", slug_name="uid", value=str(data)[:80])


@extend_schema_field(OpenApiTypes.STR)
class NumberedField(RowField):
    """A row by its uid or by the number that people write, such as E-00012."""

    def get_choices(self, cutoff: int | None = None) -> dict[Any, str]:
        """None: a form asks for the number, and must not read every row to draw its control."""
        return {}

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, str) and (number := re.fullmatch(r"[A-Za-z]-?0*([0-9]{1,9})", data.strip())):
            row = self.rows.filter(number=int(number[1])).first()
            if row is not None and row.label[0] == data.strip()[0].upper():
                return row
            self.fail("does_not_exist", slug_name="number", value=data)
        return super().to_internal_value(data)


class MoneyField(serializers.DecimalField):
    """An amount as decimal text, kept in the smallest unit of the workshop's currency; its unit on a page is the currency."""

    def __init__(self, **more: Any):
        given: dict[str, Any] = {"max_digits": 12, "decimal_places": 3, "min_value": Decimal(0)}
        given["error_messages"] = {"invalid": "Write a plain number with a point, such as 95.00."}
        super().__init__(**given, style={"inputmode": "decimal"}, **more)

    @cached_property
    def unit(self) -> str:
        """The workshop's currency, asked for once by each answer."""
        return currency()

    def to_internal_value(self, data: Any) -> Any:
        units = smallest(super().to_internal_value(data), self.unit)
        if units is None:
            raise serializers.ValidationError(f"{self.unit} has fewer decimals than that.")
        return units

    def to_representation(self, value: Any) -> str:
        return money(value, self.unit)


class CurrencyField(serializers.CharField):
    """The workshop's currency, beside amounts."""

    def __init__(self, **more: Any):
        given: dict[str, Any] = {"read_only": True, "source": "*"} | more
        super().__init__(**given)

    @cached_property
    def present(self) -> str:
        """Asked for once by each answer."""
        return currency()

    def to_representation(self, value: Any) -> str:
        return self.present


def uid_of(**more: Any) -> Any:
    """A related row shown by its uid."""
    return serializers.SlugRelatedField(slug_field="uid", read_only=True, **more)


def several(shape: Any, **more: Any) -> Any:
    """A list of one shape; the stubs do not know the arguments of `many`."""
    return shape(many=True, **more)
