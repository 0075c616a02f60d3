"""Names of months beside those of Django's own translations (django/conf/locale, of its translators)."""

from datetime import date

import pytest
from django.utils.translation.trans_real import DjangoTranslation

from shop.words.rules import day_in
from shop.workshop.rules import Language

ENGLISH = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]


@pytest.mark.parametrize("language", list(Language))
def test_it_names_months_as_djangos_translations_do(language: str) -> None:
    known = DjangoTranslation(language)
    for month, name in enumerate(ENGLISH, start=1):
        theirs = known.pgettext("alt. month", name) if language != "en" else name
        assert theirs.lower() in day_in(language, date(2030, month, 2)).lower().split(), (theirs, language)


# The order, the point and "de" after each language's DATE_FORMAT there; "1er" and British order from memory.
@pytest.mark.parametrize(
    ("language", "day", "said"),
    [
        ("en", date(2030, 6, 1), "1 June 2030"),
        ("de", date(2030, 3, 31), "31. März 2030"),
        ("fr", date(2030, 8, 1), "1er août 2030"),
        ("fr", date(2030, 12, 31), "31 décembre 2030"),
        ("es", date(2028, 2, 29), "29 de febrero de 2028"),
    ],
)
def test_it_says_a_day(language: str, day: date, said: str) -> None:
    assert day_in(language, day) == said
