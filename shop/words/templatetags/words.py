"""In every template: `{% say "…" %}` and `{% day … %}`, in the language of whoever reads the page (`in_language`)."""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.template.context import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString

from shop.words.reads import said
from shop.words.rules import day_in, weekday_in

register = template.Library()


def _language(context: Context) -> str:
    return str(context.get("in_language") or "en")


@register.simple_tag(takes_context=True)
def say(context: Context, text: str, **values: Any) -> str:
    """A sentence that stands in the template may hold markup and places in braces; what a variable holds is plain text."""
    words = said(_language(context), text)
    return format_html(words, **values, _="") if isinstance(text, SafeString) else words


@register.simple_tag(takes_context=True)
def day(context: Context, on: date, *, weekday: bool = False, hour: bool = False) -> str:
    """A day, or the day of an instant in the workshop's zone, perhaps with its weekday or its hour."""
    local = on.astimezone(ZoneInfo(context["zone"])) if isinstance(on, datetime) else on
    words = (weekday_in if weekday else day_in)(_language(context), local)
    return f"{words}, {local:%H:%M}" if hour else words
