"""Days and amounts as readers of each language write them. Pure."""

from datetime import date

from shop.workshop.rules import Language, priced

_MONTHS = {
    "en": "January February March April May June July August September October November December",
    "de": "Januar Februar März April Mai Juni Juli August September Oktober November Dezember",
    "fr": "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
    "es": "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
}
_WEEKDAYS = {
    "en": "Monday Tuesday Wednesday Thursday Friday Saturday Sunday",
    "de": "Montag Dienstag Mittwoch Donnerstag Freitag Samstag Sonntag",
    "fr": "lundi mardi mercredi jeudi vendredi samedi dimanche",
    "es": "lunes martes miércoles jueves viernes sábado domingo",
}


def day_in(language: str, day: date) -> str:
    """A day as people write it: 1 June 2030, 1. Juni 2030, 1er juin 2030, 1 de junio de 2030."""
    month = _MONTHS[language].split()[day.month - 1]
    number = {"de": f"{day.day}.", "fr": "1er" if day.day == 1 else str(day.day)}.get(language, str(day.day))
    return f"{number} de {month} de {day.year}" if language == "es" else f"{number} {month} {day.year}"


def weekday_in(language: str, day: date) -> str:
    """A day with its weekday before it: Saturday, 1 June 2030, samedi 1er juin 2030."""
    between = " " if language == "fr" else ", "
    return f"{_WEEKDAYS[language].split()[day.weekday()]}{between}{day_in(language, day)}"


def amount_in(language: str, amount: int | None, currency: str) -> str:
    """An amount with its currency: 180.00 EUR in English, 180,00 EUR otherwise. Thousands are not parted: nobody misreads them."""
    told = priced(amount, currency)
    return told if language == Language.EN else told.replace(".", ",")
