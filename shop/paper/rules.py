"""What a paper consists of: plain blocks, drawn by `shop.paper.reads.drawn`. Pure."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from unicodedata import bidirectional


class Bold(str):
    """Words that are printed bold."""


# What stands in one place: some words, or several paragraphs.
Cell = str | tuple[str, ...]


@dataclass(frozen=True)
class Heading:
    """The heading of what follows; never alone at the foot of a page: it wants so much room with what is below it."""

    text: str
    size_pt: float = 13
    room_mm: float = 32


@dataclass(frozen=True)
class Words:
    """A paragraph, or several."""

    text: Cell
    size_pt: float = 10


@dataclass(frozen=True)
class Caution:
    """Words in a thick frame: told apart without any colour."""

    text: Cell
    size_pt: float = 11


@dataclass(frozen=True)
class Facts:
    """Labels, each with what is so."""

    rows: Sequence[tuple[str, Cell]]


@dataclass(frozen=True)
class Table:
    """A ruled table; its heads stand again on every page. `least_mm` leaves room to write by hand."""

    heads: tuple[str, ...]
    widths_mm: tuple[float, ...]
    rows: Sequence[tuple[Cell, ...]]
    least_mm: float = 0


@dataclass(frozen=True)
class Label:
    """Text at a place of a drawing; `anchor` says which end of it: start, middle or end."""

    x: float
    y: float
    anchor: str
    text: str


@dataclass(frozen=True)
class Line:
    """A path of a drawing in SVG's words; `dash_mm` is 0 for an unbroken line."""

    path: str
    width_mm: float
    dash_mm: float = 0


@dataclass(frozen=True)
class Drawing:
    """Lines and labels in a field of `width` by `height`, with one grey band (x, y, width, height) or none."""

    width: float
    height: float
    lines: tuple[Line, ...]
    labels: tuple[Label, ...]
    band: tuple[float, float, float, float] | None = None


@dataclass(frozen=True)
class Code:
    """A QR code of `mark` with words beside it."""

    mark: str
    words: Cell
    size_pt: float = 8


@dataclass(frozen=True)
class Tag:
    """One label: a QR code of `mark`, the same in letters, words beside it, and a note that is always large.

    The words begin with `words_pt` and become smaller until they fit.
    """

    mark: str
    words: Cell
    note: str
    words_pt: float = 9


@dataclass(frozen=True)
class Cut:
    """Labels of 62 mm by 29 mm side by side, each in a dashed frame to cut along."""

    tags: Sequence[Tag]


Block = Heading | Words | Caution | Facts | Table | Drawing | Code | Cut


@dataclass(frozen=True)
class Paper:
    """An A4 document; `name` is its file's, `mark` stands as a QR code beside the title."""

    name: str
    title: str
    blocks: Sequence[Block]
    mark: str = ""


@dataclass(frozen=True)
class Tags:
    """Labels of 62 mm by 29 mm, one a page."""

    name: str
    title: str
    tags: Sequence[Tag]


def day(when: date) -> str:
    """A day in words: 5 Mar 2026."""
    return f"{when.day} {when:%b %Y}"


def moment(instant: datetime, zone: tzinfo) -> str:
    """An instant on the workshop's clock: 5 Mar 2026 14:05."""
    local = instant.astimezone(zone)
    return f"{day(local)} {local:%H:%M}"


def own(name: str) -> str:
    """A name inside a sentence, between marks that keep the words around it in their order whatever its script."""
    return f"\u200e{name}\u200e"


def pieces(count: int, what: str = "part") -> str:
    """A count with its word: 1 part, 2 parts."""
    return f"{count} {what}{'' if count == 1 else 's'}"


def strokes(path: str) -> list[list[tuple[float, float]]]:
    """The points of each stroke of a path of M, H, V and v; after M, more pairs go on from point to point."""
    found: list[list[tuple[float, float]]] = []
    for command, numbers in re.findall(r"([MHVv])([^MHVv]*)", path):
        values = [float(each) for each in re.findall(r"-?[0-9.]+", numbers)]
        if command == "M":
            found.append(list(zip(values[::2], values[1::2], strict=True)))
        else:
            x, y = found[-1][-1]
            to = {"H": (values[0], y), "V": (x, values[0]), "v": (x, y + values[0])}
            found[-1].append(to[command])
    return found


def texts(paper: object) -> Iterable[str]:
    """Every text of a paper, to see which letters it needs."""
    if isinstance(paper, str):
        yield paper
    elif isinstance(paper, tuple | list):
        for each in paper:
            yield from texts(each)
    elif hasattr(paper, "__dataclass_fields__"):
        yield from texts([getattr(paper, name) for name in paper.__dataclass_fields__])


def leftwards(text: str) -> bool:
    """Whether a paragraph runs from right to left: its first letter with a direction decides."""
    strong = (bidirectional(sign) for sign in text)
    return next((kind != "L" for kind in strong if kind in ("L", "R", "AL")), False)
