"""How text is folded so that any fragment is found, and what a question asks for. Pure."""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

MOST_ASKED = 80  # signs of a question; what is longer is cut off
# Signs that no folded text holds, so that nothing typed can pass for a code.
_NUMBER, _CODE, _END = "\x01", "\x02", "\x03"
_OURS = re.compile(r"([a-z]?)-?0*([0-9]+)((?:-[0-9]+)?)")
_PHONE = re.compile(r"[0-9+()./\- ]+")
_LEAST_PHONE = 4
_BETWEEN = re.compile(r"[-/._ ]+")  # what stands in a serial and is typed or left out
_LEAST_BARE = 4


class Kind(StrEnum):
    """What can be found, in the order in which a page shows it."""

    CUSTOMER = "customer"
    ITEM = "item"
    DROP_OFF = "drop-off"
    LINE = "line"
    JOB = "job"
    PART = "part"
    LOT = "lot"
    BIN = "bin"
    ORDER = "order"
    INSTRUMENT = "instrument"

    @property
    def heading(self) -> str:
        return f"{self.value.capitalize()}s"


# What carries a number of ours, which people type without its zeros and dash.
_NUMBERED = {Kind.CUSTOMER, Kind.ITEM, Kind.DROP_OFF, Kind.LINE, Kind.JOB}


@dataclass(frozen=True)
class Thing:
    """One findable thing, as the room that keeps it tells it.

    All of it is found by any fragment. A scanner may read `number` or one of `codes` whole, and then meets the thing
    itself. What changes without the thing (an owner's name) does not belong here.
    """

    subject: str
    kind: Kind
    number: str
    title: str
    address: str
    note: str = ""
    codes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Question:
    """What is asked: every one of `words` stands in a row, or any of `others` does; any of `exact` is a whole code."""

    words: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    exact: tuple[str, ...] = ()


def fold(text: str) -> str:
    """Text without case, accents, control signs and needless space: what is stored and what is asked, alike."""
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    kept = (sign for sign in plain if sign.isspace() or not _dropped(sign))
    return " ".join("".join(kept).split())


def _dropped(sign: str) -> bool:
    return unicodedata.combining(sign) > 0 or unicodedata.category(sign).startswith("C")


def short(number: str) -> str:
    """One of our numbers without zeros and dash: k1 for K-0001, c12-1 for C-0012-1; nothing if it is none of ours."""
    found = _OURS.fullmatch(fold(number))
    return found[1] + found[2] + found[3] if found else ""


def words_of(thing: Thing) -> str:
    """All that is searched of a thing, as one text."""
    codes = [fold(code) for code in (thing.number, *thing.codes)]
    own = 1 if thing.kind in _NUMBERED else 0
    # Found by any fragment, but no whole code: a scan of 112 must not meet 11-2.
    bare = [short_of for code in codes[own:] if (short_of := _BETWEEN.sub("", code)) != code]
    marked = [f"{_CODE}{code}{_END}" for code in codes if code]
    if thing.kind in _NUMBERED:
        marked.append(f"{_NUMBER}{short(thing.number)}{_END}")
    return " ".join([fold(f"{thing.title} {thing.note}"), *marked, *bare])


def question(asked: str) -> Question:
    """What somebody typed or scanned; nothing when it holds no sign that counts."""
    text = fold(asked[:MOST_ASKED])
    if not text:
        return Question()
    number = short(text)
    marked = f"{_NUMBER}{number}{_END}"
    exact = (f"{_CODE}{text}{_END}", marked) if number else (f"{_CODE}{text}{_END}",)
    others = [_phone(text), marked if number and text not in marked else "", _bare(text)]
    return Question(tuple(text.split()), tuple(other for other in others if other), exact)


def _bare(text: str) -> str:
    """A serial as one types it with signs where it was read without them; nothing of words, addresses and telephones."""
    bare = _BETWEEN.sub("", text)
    may_be = " " not in text and "@" not in text and not _PHONE.fullmatch(text)
    return bare if may_be and bare != text and len(bare) >= _LEAST_BARE else ""


def _phone(text: str) -> str:
    """The digits that a telephone number on record must hold: no 0 for the trunk before them, no (0) among them."""
    if not _PHONE.fullmatch(text):
        return ""
    digits = re.sub(r"[^0-9]", "", text.replace("(0)", "")).lstrip("0")
    return digits if len(digits) >= _LEAST_PHONE else ""
