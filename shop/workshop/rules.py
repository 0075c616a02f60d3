"""What every room shares: refusals, kinds of gear, month arithmetic, money. Pure."""

import calendar
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, Protocol

import phonenumbers


@dataclass(frozen=True)
class Refusal:
    """One reason why something was not done: a stable code, a sentence for people, the field it concerns if any."""

    code: str
    sentence: str
    pointer: str = ""


class Refused(Exception):
    """The state of things does not allow it; nothing was changed. Carries every reason at once."""

    def __init__(self, refusals: Iterable[Refusal]):
        self.refusals = list(refusals)
        super().__init__(" ".join(refusal.sentence for refusal in self.refusals))


class Stale(Exception):
    """Somebody changed the row since the caller saw it."""

    def __init__(self, present: int | None):
        self.present = present
        said = "Send the one ETag you saw." if present is None else f"It is at version {present} now."
        super().__init__(f"It has been changed since you saw it. {said}")


def refuse(refusals: Iterable[Refusal]) -> None:
    """Raise Refused when there is any reason; otherwise do nothing."""
    if found := list(refusals):
        raise Refused(found)


class Merged(Protocol):
    """A row that may have been merged into another one like it."""

    @property
    def label(self) -> str: ...
    @property
    def merged_into(self) -> Any: ...


def merged_refusals(row: Merged, pointer: str = "") -> list[Refusal]:
    """Why nothing is done any more with a row that was merged into another, or with a customer who was erased."""
    if getattr(row, "erased_at", None):
        return [Refusal("erased", f"{row.label} was erased: nothing new is written to that number.", pointer)]
    if row.merged_into is None:
        return []
    said = f"{row.label} was merged into {row.merged_into.label}: work with {row.merged_into.label}."
    return [Refusal("merged", said, pointer)]


def merge_refusals(keep: Merged, lose: Merged) -> list[Refusal]:
    """Why a row is not merged into another one."""
    if keep.label == lose.label:
        return [Refusal("itself", f"{lose.label} can be merged into another only, not into itself.", "into")]
    return [*merged_refusals(lose), *merged_refusals(keep, "into")]


class Kind(StrEnum):
    """Kinds of gear."""

    FIRST_STAGE = "first_stage"
    SECOND_STAGE = "second_stage"
    SUBMERSIBLE_GAUGE = "submersible_gauge"
    BCD = "bcd"
    CYLINDER = "cylinder"
    CYLINDER_VALVE = "cylinder_valve"
    DRY_SUIT = "dry_suit"
    INFLATOR = "inflator"
    HOSE = "hose"
    COMPUTER = "computer"
    COMPRESSOR = "compressor"

    @property
    def label(self) -> str:
        return "BCD" if self is Kind.BCD else self.value.replace("_", " ")


@dataclass(frozen=True)
class Promise:
    """A clock that a service satisfies: its key, how it is called, and after how many months it is due again."""

    key: str
    title: str
    months: int


def open_on(day: date, weekdays: Collection[int], days: Collection[str]) -> bool:
    """Whether the workshop is open on a day, by the weekdays (Monday is 0) and single days (ISO 8601) on which it is not."""
    return day.weekday() not in weekdays and day.isoformat() not in days


class Language(StrEnum):
    """Languages that letters are written in."""

    EN = "en"
    DE = "de"
    FR = "fr"
    ES = "es"

    @property
    def label(self) -> str:
        return {"en": "English", "de": "German", "fr": "French", "es": "Spanish"}[self]


def values(members: Iterable[StrEnum]) -> list[str]:
    """The plain texts of an enumeration: what migrations keep must not name our code."""
    return [member.value for member in members]


def pairs(members: Iterable[StrEnum]) -> list[tuple[str, str]]:
    """The plain texts as choices of a column."""
    return [(text, text) for text in values(members)]


def add_months(day: date, months: int) -> date:
    """The same day of the month `months` later, or that month's last day when it is shorter."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


# ISO 4217 minor units that are not 2, from memory.
_DIGITS = {"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "KWD": 3, "BHD": 3, "OMR": 3, "JOD": 3, "TND": 3}


def digits(currency: str) -> int:
    """How many decimals the currency has."""
    return _DIGITS.get(currency, 2)


class Unit(StrEnum):
    """What a part is counted in, whole numbers of it; a mass or a volume in a unit so small that no part of it is taken."""

    PIECE = "piece"
    GRAM = "g"
    MILLILITRE = "ml"


SYMBOLS = {Unit.MILLILITRE.value: "mL"}  # a unit is its own symbol otherwise


def in_unit(count: int | str, unit: str) -> str:
    """How many there are, with the unit: 1 piece, 3 pieces, 12 g. A count that is rounded comes as text, one with a sign too."""
    if unit != Unit.PIECE:
        return f"{count} {SYMBOLS.get(unit, unit)}"
    return f"{count} piece" if str(count).lstrip("+-") == "1" else f"{count} pieces"


def counted_in(unit: str) -> str:
    """A unit by itself, over a column or behind a field: pieces, g, mL."""
    return "pieces" if unit == Unit.PIECE else SYMBOLS.get(unit, unit)


def money(amount: int, currency: str) -> str:
    """An amount in the smallest unit as decimal text: 18000 EUR is 180.00."""
    places = digits(currency)
    return f"{Decimal(amount).scaleb(-places):.{places}f}"


def priced(amount: int | None, currency: str) -> str:
    """An amount with its currency, for people; or that nobody knows it."""
    return "not known" if amount is None else f"{money(amount, currency)} {currency}"


def smallest(text: Decimal, currency: str) -> int | None:
    """A decimal amount in the smallest unit, or None when it has more decimals than the currency."""
    value = text.scaleb(digits(currency))
    return int(value) if value == value.to_integral_value() else None


def grouped(phone: str) -> str:
    """A telephone number on record (E.164) as its country groups it, on one line: +44 1632 960417; what is none stays."""
    try:
        number = phonenumbers.parse(phone)
    except phonenumbers.NumberParseException:
        return phone
    said = phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.INTERNATIONAL)
    return said.replace(" ", "\u00a0")
