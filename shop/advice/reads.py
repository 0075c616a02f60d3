"""The table of likely causes, and the rows that come with the house."""

import json
from collections.abc import Collection

from django.conf import settings
from django.db.models import QuerySet

from shop.advice.models import Advice
from shop.advice.rules import Sign, answers


def present() -> QuerySet[Advice]:
    """Rows that are not withdrawn, by what they answer."""
    return Advice.objects.filter(withdrawn_at=None).order_by("what", "side", "pk")


def causes(signs: Collection[Sign], kind: str) -> list[Advice]:
    """What is often behind a result on gear of a kind."""
    return [row for row in present() if answers(row, signs, kind)] if signs else []


def shipped() -> list[dict[str, str]]:
    """The rows that come with the house: general knowledge of the trade, without a source."""
    rows: list[dict[str, str]] = json.loads((settings.ROOT / "fixtures" / "advice.json").read_text())
    return rows


def shipped_missing() -> list[dict[str, str]]:
    """Those of them that the table never had; what was withdrawn or changed since is not offered again."""
    had = set(Advice.objects.values_list("what", "side", "kind", "part"))
    return [row for row in shipped() if (row["what"], row["side"], row["kind"], row["part"]) not in had]
