"""What customers read on pages, in their language: a table of our English sentences beside the other three."""

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from functools import cache

from django.conf import settings

from shop.workshop.rules import Language, Refusal

OTHERS = (Language.DE, Language.FR, Language.ES)  # in the order of the table


@cache
def table(section: str) -> Mapping[str, list[str]]:
    """What is said in German, French and Spanish: by our sentence, or of refusals by their code."""
    found: dict[str, dict[str, list[str]]] = tomllib.loads(
        (settings.ROOT / "fixtures" / "words.toml").read_text()
    )
    return found[section] if section == "refusals" else found["pages"] | found["gear"] | found["condition"]


def said(language: str, text: str) -> str:
    """A sentence of ours in a language; whatever is not in the table, such as a workshop's own title, stays as typed."""
    row = None if language == Language.EN else table("pages").get(text)
    return row[OTHERS.index(Language(language))] if row else text


def refused(language: str, refusal: Refusal) -> Refusal:
    """A refusal in a language: by its sentence, or else by what its code means."""
    told = said(language, refusal.sentence)
    row = (
        table("refusals").get(refusal.code) if language != Language.EN and told == refusal.sentence else None
    )
    return replace(refusal, sentence=row[OTHERS.index(Language(language))] if row else told)
