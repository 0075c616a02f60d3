"""Draws papers as PDF: black and grey only, letters of many scripts, nothing from the network or the system.

Lines are broken here and not by the library, which orders a text of two directions before it breaks it. The same paper at
the same instant gives the same bytes.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from pathlib import Path
from unicodedata import category, normalize

import segno
from fpdf import FPDF

from shop.paper.rules import (
    Block,
    Bold,
    Caution,
    Cell,
    Code,
    Cut,
    Drawing,
    Facts,
    Heading,
    Paper,
    Table,
    Tag,
    Tags,
    Words,
    leftwards,
    moment,
    strokes,
    texts,
)  # fmt: skip

FONTS = Path(__file__).parent / "static" / "paper"
TAG_MM = (62.0, 29.0)
MARGIN_MM, TAG_MARGIN_MM = 14.0, 2.0
PAD_MM = 1.2
MARK_MM = 26.0
HEADS_MM = 15.0  # room for the heads of a table on a page that it goes on to
PARTED_MM = 60.0  # what is longer may go on to the next page
LABELS_MM = 42.0  # the left column of facts
MM_A_PT = 25.4 / 72
LEADING = 1.3
BLACK, GREY, PALE = 0, 130, 225
APART = re.compile(r"\s+(?!%)")  # a percentage stays on one line
BOX = "\u25a1"  # stands for a letter that no font of ours has
# Stands for the number of pages: noncharacters, which no font has and `plain` therefore lets through from nobody.
PAGES = "\ufdd0\ufdd0\ufdd0"
JOINERS = "\u200c\u200d\u200e\u200f"  # of all invisible characters, those that shape or order letters


@dataclass(frozen=True)
class _Line:
    """A line as it is drawn."""

    text: str
    bold: bool
    leftwards: bool


class _Pages(FPDF):
    """The pages of a paper while they are drawn."""

    def __init__(self, size: str | tuple[float, float], margin_mm: float, instant: datetime, title: str):
        super().__init__(unit="mm", format=size)
        self.add_font("sans", "", FONTS / "DejaVuSans.ttf")
        self.add_font("sans", "B", FONTS / "DejaVuSans-Bold.ttf")
        self.set_font("sans", "", 10)
        self.set_text_shaping(True)
        self.set_auto_page_break(False)
        self.alias_nb_pages(PAGES)
        self.set_margin(margin_mm)
        self.c_margin = 0
        self.set_creation_date(instant)
        self.set_title(title)
        self.set_lang("en")
        self.foot: list[_Line] = []
        self.heads: Table | None = None
        self.widths: dict[tuple[str, str, float], float] = {}
        self.letters: set[int] = set(self.fonts["sans"].cmap)  # type: ignore[union-attr]  # the font was added above and has one

    def learn(self, texts: Iterable[str]) -> None:
        """Take the second font in when a text needs it: it is large and seldom wanted."""
        if {ord(sign) for text in texts for sign in normalize("NFC", text)} - self.letters - set(range(32)):
            self.add_font("far", "", FONTS / "DroidSansFallback.ttf")
            self.set_fallback_fonts(["sans", "far"], exact_match=False)
            self.letters |= set(self.fonts["far"].cmap)  # type: ignore[union-attr]  # likewise
        else:
            self.set_fallback_fonts(["sans"], exact_match=False)

    def plain(self, text: str) -> str:
        """A text with nothing in it that could not be seen: an unknown letter becomes a box."""
        text = normalize("NFC", text.replace("\r\n", "\n"))
        return "".join(self._seen(sign) for sign in text)

    def _seen(self, sign: str) -> str:
        kind = category(sign)
        if sign in "\n" + JOINERS:
            return sign
        if kind in ("Cc", "Zl", "Zp", "Zs"):
            return " "
        if kind == "Cf":
            return ""
        return sign if ord(sign) in self.letters else BOX

    def wide(self, text: str) -> float:
        """The width of a text in mm in the present font."""
        key = (text, self.font_style, self.font_size_pt)
        if key not in self.widths:
            self.widths[key] = self.get_string_width(text)
        return self.widths[key]

    def set_lines(self, cell: Cell, width_mm: float, size_pt: float) -> list[_Line]:
        """What stands in one place, broken into lines."""
        found = []
        for part in (cell,) if isinstance(cell, str) else cell:
            bold = isinstance(part, Bold)
            self.set_font("sans", "B" if bold else "", size_pt)
            for text in self.plain(part).split("\n"):
                to_left = leftwards(text)
                self.towards(to_left)
                found += [
                    _Line(line, bold, to_left) for line in self.broken(APART.split(text.strip()), width_mm)
                ]
        return found

    def broken(self, words: Sequence[str], width_mm: float) -> list[str]:
        """Words as lines; a word that is longer than a line is broken where it must be."""
        space = self.wide("x x") - self.wide("xx")
        lines, line, long = [], "", 0.0
        for word in words:
            if line and long + space + self.wide(word) <= width_mm:
                line, long = f"{line} {word}", long + space + self.wide(word)
                continue
            lines += [line] if line else []
            while self.wide(word) > width_mm:
                n = self._fitting(word, width_mm)
                lines.append(word[:n])
                word = word[n:]
            line, long = word, self.wide(word)
        return [*lines, line]

    def _fitting(self, word: str, width_mm: float) -> int:
        """How many characters fit, one at least; marks stay with their letter."""
        low, high = 1, len(word)
        while low < high:
            middle = (low + high + 1) // 2
            low, high = (middle, high) if self.wide(word[:middle]) <= width_mm else (low, middle - 1)
        n = low
        while n > 1 and category(word[n : n + 1] or "x").startswith("M"):
            n -= 1
        return n if n > 1 else low

    def towards(self, leftwards: bool) -> None:
        """The direction of the text that comes next."""
        self.set_text_shaping(True, direction="rtl" if leftwards else "ltr")

    def put(self, lines: Iterable[_Line], x: float, y: float, size_pt: float) -> float:
        """Draw lines one below the other; where the next would stand."""
        for line in lines:
            self.set_font("sans", "B" if line.bold else "", size_pt)
            self.towards(line.leftwards)
            self.set_xy(x, y)
            self.cell(0, _step(size_pt), line.text)
            y += _step(size_pt)
        return y

    def footer(self) -> None:
        """Whose paper it is, when it was printed, and which page of how many."""
        if not self.foot:
            return
        self.set_draw_color(GREY)
        self.set_line_width(0.2)
        self.line(self.l_margin, self.lowest + 1, self.w - self.r_margin, self.lowest + 1)
        page = _Line(f"{self.foot[-1].text}, page {self.page_no()} of {PAGES}", False, False)
        self.put([*self.foot[:-1], page], self.l_margin + PAD_MM, self.lowest + 2, 8)

    @property
    def lowest(self) -> float:
        """Where the room for blocks ends."""
        under = len(self.foot) * _step(8) + 2 if self.foot else 0
        return self.h - self.b_margin - under

    def turn(self) -> None:
        """The next page, with the heads of the table that goes on there."""
        self.add_page()
        self.set_y(self.t_margin)
        if self.heads:
            self.row(tuple(Bold(each) for each in self.heads.heads), self.heads.widths_mm, 8, frame_mm=0.2)

    def row(
        self, cells: Sequence[Cell], widths_mm: Sequence[float], size_pt: float, *,
        frame_mm: float = 0, least_mm: float = 0,
    ) -> None:  # fmt: skip
        """Cells side by side. What does not fit goes to the next page; what is longer than a page is continued."""
        sets = [self.set_lines(c, w - 2 * PAD_MM, size_pt) for c, w in zip(cells, widths_mm, strict=True)]
        step, ends = _step(size_pt), 2 * _above(frame_mm)
        while True:
            n = max(len(lines) for lines in sets)
            high = max(n * step + ends, least_mm)
            room = self.lowest - self.get_y()
            fits = high <= room
            most = self.lowest - self.t_margin - HEADS_MM if frame_mm else PARTED_MM
            whole = high <= most
            if not fits and (whole or room < 3 * step + ends):
                self.turn()
                continue
            now = n if fits else int((room - ends) / step)
            self._cells([lines[:now] for lines in sets], widths_mm, size_pt, high if fits else room, frame_mm)
            if fits:
                return
            sets = [lines[now:] for lines in sets]
            self.turn()

    def _cells(
        self, sets: list[list[_Line]], widths_mm: Sequence[float], size_pt: float, high: float, frame_mm: float
    ) -> None:  # fmt: skip
        x, y = self.l_margin, self.get_y()
        for lines, width in zip(sets, widths_mm, strict=True):
            if frame_mm:
                self.set_draw_color(BLACK if frame_mm > 0.5 else GREY)
                self.set_line_width(frame_mm)
                self.rect(x, y, width, high)
            self.put(lines, x + PAD_MM, y + _above(frame_mm), size_pt)
            x += width
        self.set_y(y + high)

    def mark(self, text: str, x: float, y: float, side_mm: float) -> None:
        """A QR code, dark on the white of the paper."""
        rows = list(segno.make_qr(text, error="m").matrix)
        module = side_mm / len(rows)
        self.set_fill_color(BLACK)
        for i, row in enumerate(rows):
            j = 0
            while j < len(row):
                n = 1
                while row[j] and j + n < len(row) and row[j + n]:
                    n += 1
                if row[j]:
                    self.rect(x + j * module, y + i * module, n * module, module, style="F")
                j += n


def drawn(paper: Paper | Tags, *, house: str, zone: tzinfo, instant: datetime) -> bytes:
    """A paper as PDF, for the workshop `house`, as printed at an instant."""
    tags = isinstance(paper, Tags)
    size, margin = (TAG_MM, TAG_MARGIN_MM) if tags else ("A4", MARGIN_MM)
    pages = _Pages(size, margin, instant, paper.title)
    pages.learn([house, *texts(paper)])
    if isinstance(paper, Tags):
        for tag in paper.tags:
            pages.add_page()
            _label(pages, tag, 0, 0)
    else:
        printed = f"Printed {moment(instant, zone)}, {zone}"
        pages.foot = pages.set_lines(f"{house}\n{paper.title}\n{printed}", pages.epw - 2 * PAD_MM, 8)
        _sheet(pages, paper, house)
    return bytes(pages.output())


def _sheet(pages: _Pages, paper: Paper, house: str) -> None:
    pages.turn()
    top = pages.get_y()
    beside = MARK_MM + 6 if paper.mark else 0
    pages.row([house], [pages.epw - beside], 10)
    pages.row([Bold(paper.title)], [pages.epw - beside], 19)
    if paper.mark:
        x = pages.w - pages.r_margin - MARK_MM
        pages.mark(paper.mark, x, top, MARK_MM)
        lines = pages.set_lines(Bold(paper.mark), MARK_MM, 11)
        pages.set_y(max(pages.get_y(), pages.put(lines, x, top + MARK_MM + 1, 11)))
    pages.set_y(pages.get_y() + 2)
    for block in paper.blocks:
        _block(pages, block)


def _block(pages: _Pages, block: Block) -> None:
    width = pages.epw
    match block:
        case Heading():
            if pages.get_y() + block.room_mm > pages.lowest:
                pages.turn()
            pages.set_y(pages.get_y() + 3)
            pages.row([Bold(block.text)], [width], block.size_pt)
        case Words():
            pages.row([block.text], [width], block.size_pt)
        case Caution():
            pages.set_y(pages.get_y() + 1)
            pages.row([block.text], [width], block.size_pt, frame_mm=0.9)
            pages.set_y(pages.get_y() + 2)
        case Facts():
            for label, said in block.rows:
                pages.row([label, said], [LABELS_MM, width - LABELS_MM], 10)
        case Table():
            _table(pages, block)
        case Drawing():
            _drawing(pages, block)
        case Code():
            _code(pages, block)
        case Cut():
            _cut(pages, block)


def _table(pages: _Pages, table: Table) -> None:
    pages.row(tuple(Bold(each) for each in table.heads), table.widths_mm, 8, frame_mm=0.2)
    pages.heads = table
    for cells in table.rows or [("none", *[""] * (len(table.heads) - 1))]:
        pages.row(cells, table.widths_mm, 8.5, frame_mm=0.2, least_mm=table.least_mm)
    pages.heads = None
    pages.set_y(pages.get_y() + 2)


def _drawing(pages: _Pages, drawing: Drawing) -> None:
    scale = pages.epw / drawing.width
    if pages.get_y() + drawing.height * scale > pages.lowest:
        pages.turn()
    left, top = pages.l_margin, pages.get_y()
    if drawing.band:
        x, y, width, height = (each * scale for each in drawing.band)
        pages.set_fill_color(PALE)
        pages.rect(left + x, top + y, width, height, style="F")
    pages.set_draw_color(BLACK)
    for line in drawing.lines:
        pages.set_line_width(line.width_mm)
        pages.set_dash_pattern(dash=line.dash_mm, gap=line.dash_mm)
        for points in strokes(line.path):
            pages.polyline([(left + x * scale, top + y * scale) for x, y in points])
    pages.set_dash_pattern()
    for label in drawing.labels:
        pages.set_font("sans", "", 7)
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * pages.wide(label.text)
        at = (left + label.x * scale - back, top + label.y * scale - 0.8 * _step(7))
        pages.put([_Line(label.text, False, False)], *at, 7)
    pages.set_y(top + drawing.height * scale + 2)


def _code(pages: _Pages, code: Code) -> None:
    """The code with its words beside it, both on one page."""
    left, width = MARK_MM + 4, pages.epw - MARK_MM - 4
    lines = pages.set_lines(code.words, width - PAD_MM, code.size_pt)
    high = max(MARK_MM, len(lines) * _step(code.size_pt)) + 2
    if pages.get_y() + high + 2 > pages.lowest:
        pages.turn()
    top = pages.get_y() + 2
    pages.mark(code.mark, pages.l_margin, top, MARK_MM)
    pages.put(lines, pages.l_margin + left, top, code.size_pt)
    pages.set_y(top + high)


def _cut(pages: _Pages, cut: Cut) -> None:
    """As many side by side as the page is wide; a label stands on one page."""
    wide, high = TAG_MM
    beside = int(pages.epw // wide)
    for n, tag in enumerate(cut.tags):
        if n % beside == 0:
            pages.set_y(pages.get_y() + (high if n else 0))
            if pages.get_y() + high > pages.lowest:
                pages.turn()
        x, y = pages.l_margin + n % beside * wide, pages.get_y()
        pages.set_draw_color(GREY)
        pages.set_line_width(0.2)
        pages.set_dash_pattern(dash=1.5, gap=1.5)
        pages.rect(x, y, wide, high)
        pages.set_dash_pattern()
        _label(pages, tag, x, y)
        pages.set_y(y)
    pages.set_y(pages.get_y() + high + 2)


def _label(pages: _Pages, tag: Tag, x: float, y: float) -> None:
    """A label at a place of the page: the words are made smaller until all of them stand on it; number and note never are."""
    wide, high = TAG_MM
    side = high - 2 * TAG_MARGIN_MM - 3
    pages.mark(tag.mark, x + TAG_MARGIN_MM + 1, y + TAG_MARGIN_MM + 1.5, side)
    left, low = x + TAG_MARGIN_MM + side + 4, y + high - TAG_MARGIN_MM
    width, size = x + wide - left - TAG_MARGIN_MM, tag.words_pt
    name = pages.set_lines(Bold(tag.mark), width, 12)
    note = pages.set_lines(Bold(tag.note), width, 9.5) if tag.note else []
    top, low = y + TAG_MARGIN_MM + len(name) * _step(12), low - len(note) * _step(9.5)
    words = pages.set_lines(tag.words, width, size)
    while len(words) * _step(size) > low - top:
        size *= 0.94
        words = pages.set_lines(tag.words, width, size)
    pages.put(name, left, y + TAG_MARGIN_MM, 12)
    pages.put(words, left, top, size)
    pages.put(note, left, low, 9.5)


def _above(frame_mm: float) -> float:
    """The room above and below words, in mm: less where no frame must be kept clear of."""
    return PAD_MM if frame_mm else PAD_MM / 2


def _step(size_pt: float) -> float:
    """From line to line in mm."""
    return size_pt * MM_A_PT * LEADING
