"""Letters in words: which there are, what may stand in them, and how text and HTML are made of one wording. Pure."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from html import escape

from shop.workshop.rules import Language, Refusal


class Key(StrEnum):
    """The letters whose wording a workshop may change."""

    REMINDER = "reminder"
    BOOKED = "booked"
    DAY_BEFORE = "day before"
    MOVED = "moved"
    CANCELLED = "cancelled"
    READY = "ready"
    DOUBT = "doubt"
    NOTICE = "notice"
    CHECKED_IN = "checked in"
    QUOTED = "go-ahead asked"
    ASKED_AGAIN = "asked again"
    ANSWERED = "answered"

    @property
    def what(self) -> str:
        return {
            "reminder": "Gear is due for service.",
            "booked": "A day to bring gear in was booked.",
            "day before": "The day before gear is brought in.",
            "moved": "Another day to bring gear in was booked.",
            "cancelled": "The day to bring gear in was cancelled.",
            "ready": "Gear is ready to collect.",
            "doubt": "Our own work on gear that is gone is in doubt.",
            "notice": "A safety notice concerns, or may concern, gear.",
            "checked in": "Gear is here: the private link to follow it.",
            "go-ahead asked": "An amount is put to the customer: the private link to agree or decline.",
            "asked again": "More was found and was not answered: the customer is asked again, once.",
            "answered": "A question about gear that is here was answered.",
        }[self]


Values = Mapping[str, str | Sequence[str]]
# What may stand in each letter, and what of it must.
_BOOKING = ("customer", "day", "items", "answer", "workshop")
PLACES: dict[Key, tuple[str, ...]] = {
    Key.REMINDER: ("customer", "items", "answer", "workshop"),
    Key.BOOKED: _BOOKING,
    Key.DAY_BEFORE: _BOOKING,
    Key.MOVED: _BOOKING,
    Key.CANCELLED: _BOOKING,
    Key.READY: ("customer", "ticket", "items", "hours", "workshop"),
    Key.DOUBT: ("customer", "items", "workshop"),
    Key.NOTICE: ("customer", "notice", "words", "items", "here", "workshop"),
    Key.CHECKED_IN: _BOOKING,
    Key.QUOTED: ("customer", "items", "answer", "workshop"),
    Key.ASKED_AGAIN: ("customer", "items", "answer", "workshop"),
    Key.ANSWERED: ("customer", "answer", "workshop"),
}
NEEDED: dict[Key, tuple[str, ...]] = {
    Key.REMINDER: ("items", "answer"),
    Key.BOOKED: ("day", "answer"),
    Key.DAY_BEFORE: ("day", "answer"),
    Key.MOVED: ("day", "answer"),
    Key.CANCELLED: ("day",),
    Key.READY: ("ticket", "items"),
    Key.DOUBT: ("items",),
    Key.NOTICE: ("notice", "items"),
    Key.CHECKED_IN: ("answer",),
    Key.QUOTED: ("answer",),
    Key.ASKED_AGAIN: ("answer",),
    Key.ANSWERED: ("answer",),
}
EMPTY = (
    "items",
    "here",
    "answer",
    "workshop",
    "words",
    "hours",
)  # these may have nothing to fill them, where the letter does not need them
LISTS = ("items", "here")  # each of these stands alone on its line
IN_SUBJECT = ("day",)  # a subject line is read by anybody who sees the screen: nothing personal
MOST_SUBJECT, MOST_TEXT = 120, 6000
_PLACE = re.compile(r"\{([a-z]+)\}")
_ADDRESS = re.compile(r"https?://[^\s<>\"]*[^\s<>\".,;:!?)\]]")


@dataclass(frozen=True)
class Wording:
    """The words of one letter in one language, with places to fill."""

    subject: str
    text: str


@dataclass(frozen=True)
class Piece:
    """Words of a line; an address to follow, or not."""

    text: str
    link: bool = False


@dataclass(frozen=True)
class Block:
    """A paragraph of lines, or a list of items."""

    lines: tuple[tuple[Piece, ...], ...] = ()
    items: tuple[str, ...] = ()


@dataclass(frozen=True)
class Worded:
    """One letter, ready to be sent: both are made of the same blocks."""

    subject: str
    text: str
    html: str
    blocks: tuple[Block, ...] = ()


def refusals(key: Key, subject: str, text: str) -> list[Refusal]:
    """Every reason why a wording cannot be used."""
    places, found = PLACES[key], []
    if not subject.strip() or len(subject) > MOST_SUBJECT or subject != " ".join(subject.split()):
        said = f"The subject is one line of at most {MOST_SUBJECT} signs, with single blanks."
        found.append(Refusal("subject", said, "subject"))
    if not text.strip() or len(text) > MOST_TEXT:
        found.append(Refusal("text", f"The text has from 1 to {MOST_TEXT} signs.", "text"))
    in_subject = [each for each in IN_SUBJECT if each in places]
    for given, pointer, known in ((subject, "subject", in_subject), (text, "text", places)):
        may = ", ".join(f"{{{each}}}" for each in known) or "nothing"
        for name in dict.fromkeys(_PLACE.findall(given)):
            if name not in known:
                said = f"{{{name}}} cannot be filled here. May stand in the {pointer}: {may}."
                found.append(Refusal("unknown-place", said, pointer))
        if re.search(r"[{}]", _PLACE.sub("", given)):
            said = f"A brace only holds the name of a place in the {pointer}: {may}."
            found.append(Refusal("brace", said, pointer))
    for name in NEEDED[key]:
        if name not in _PLACE.findall(text):
            found.append(Refusal("missing-place", f"{{{name}}} must stand in the text.", "text"))
    for name in LISTS:
        if any(f"{{{name}}}" in line and line.strip() != f"{{{name}}}" for line in text.splitlines()):
            found.append(Refusal("not-alone", f"{{{name}}} is a list: it stands alone on its line.", "text"))
    for paragraph in _paragraphs(text):
        held = dict.fromkeys(_PLACE.findall(paragraph))
        needed = " and ".join(f"{{{each}}}" for each in held if each in NEEDED[key])
        for name in held:
            if needed and name in EMPTY and name not in NEEDED[key]:
                said = f"Put an empty line between {needed} and {{{name}}}: where {{{name}}} is empty its whole paragraph is left out."
                found.append(Refusal("may-be-left-out", said, "text"))
    return found


def render(language: Language, wording: Wording, values: Values) -> Worded:
    """A letter from its wording; a paragraph with a place that is empty is left out."""
    blocks = tuple(
        block
        for paragraph in _paragraphs(wording.text)
        if all(values.get(name) for name in _PLACE.findall(paragraph))
        for block in _blocks(paragraph, values)
    )
    subject = _PLACE.sub(lambda place: _one_line(values.get(place[1], "")), wording.subject)
    return Worded(
        " ".join(subject.split()), _text(blocks), _html(language, " ".join(subject.split()), blocks), blocks
    )


def _paragraphs(text: str) -> list[str]:
    return re.split(r"\n\s*\n", text.replace("\r\n", "\n").strip())


def _blocks(paragraph: str, values: Values) -> list[Block]:
    """The blocks of one paragraph: a list parts the lines before it from those behind."""
    found: list[Block] = []
    lines: list[tuple[Piece, ...]] = []
    for line in paragraph.splitlines():
        name = line.strip()[1:-1]
        if name in LISTS and line.strip() == f"{{{name}}}":
            given = values[name]
            rows = [given] if isinstance(given, str) else given
            found += [Block(lines=tuple(lines))] if lines else []
            found.append(Block(items=tuple(map(_one_line, rows))))
            lines = []
        else:
            lines += _lines(line, values)
    return [*found, Block(lines=tuple(lines))] if lines else found


def _lines(line: str, values: Values) -> list[tuple[Piece, ...]]:
    """A line with its places filled; more than one where what is filled in has several."""
    found: list[list[Piece]] = [[]]
    for n, part in enumerate(_PLACE.split(line)):
        if not n % 2:  # words of the wording itself, in which addresses may stand
            at = 0
            for each in _ADDRESS.finditer(part):
                found[-1] += [Piece(part[at : each.start()]), Piece(each[0], link=True)]
                at = each.end()
            found[-1].append(Piece(part[at:]))
            continue
        given = values[part]
        rows = given.splitlines() if isinstance(given, str) else [", ".join(map(_one_line, given))]
        for more, row in enumerate(rows):
            if more:
                found.append([])
            found[-1].append(Piece(row, link=bool(_ADDRESS.fullmatch(row))))
    return [tuple(piece for piece in pieces if piece.text) for pieces in found]


def _one_line(given: str | Sequence[str]) -> str:
    return " ".join((given if isinstance(given, str) else ", ".join(given)).split())


def _text(blocks: Sequence[Block]) -> str:
    """The letter as plain text, an empty line between two blocks."""
    said = ""
    for block in blocks:
        said += "\n\n" if said else ""
        said += "\n".join(f"- {item}" for item in block.items)
        said += "\n".join("".join(piece.text for piece in line) for line in block.lines)
    return f"{said}\n"


_BODY = "margin:0;padding:16px;background:#ffffff;color:#1b1b1b;font:16px/1.5 Arial,Helvetica,sans-serif"


def _html(language: Language, subject: str, blocks: Sequence[Block]) -> str:
    """The same as HTML: styles stand inline because readers of mail drop others; nothing is fetched."""
    said = []
    for block in blocks:
        if block.items:
            rows = "".join(f'<li style="margin:0 0 4px">{escape(item)}</li>' for item in block.items)
            said.append(f'<ul style="margin:0 0 16px;padding-left:24px">{rows}</ul>')
        else:
            lines = "<br>".join("".join(map(_piece, line)) for line in block.lines)
            said.append(f'<p style="margin:0 0 16px">{lines}</p>')
    return (
        f'<!doctype html><html lang="{language}"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width"><title>{escape(subject)}</title></head>'
        f'<body style="{_BODY}"><div style="max-width:600px">\n'
        + "\n".join(said)
        + "\n</div></body></html>\n"
    )


def _piece(piece: Piece) -> str:
    said = escape(piece.text)
    return f'<a href="{said}" style="color:#0b4f71">{said}</a>' if piece.link else said
