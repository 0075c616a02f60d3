"""Papers drawn and read back: every letter, every row, no colour, the same bytes each time."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pypdfium2
import pytest

from shop.paper.reads import drawn
from shop.paper.rules import (
    Block,
    Bold,
    Caution,
    Drawing,
    Facts,
    Heading,
    Label,
    Line,
    Paper,
    Table,
    Tag,
    Tags,
    Words,
    own,
)
from tests.printed import is_grey, marks_of, pictures_of, sizes_of, text_of, white_edges_mm

LONDON = ZoneInfo("Europe/London")
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
LATIN = ("Maximiliana Featherstonehaugh-Cholmondeley " * 4)[:160]
ARABIC = ("محمد بن عبد الله الغواص " * 7)[:160].strip()
HEBREW = ("ישראל ישראלי בן דוד הצולל " * 7)[:160].strip()
CHINESE = ("山田太郎株式会社潜水器具" * 14)[:160]
NAMES = [LATIN, ARABIC, HEBREW, CHINESE, "W" * 160]


def pdf(*blocks: Block, title: str = "Claim ticket C-0001", mark: str = "", at: datetime = NOON) -> bytes:
    """A paper of these blocks."""
    paper = Paper("claim-ticket-C-0001", title, blocks, mark)
    return drawn(paper, house="Aldermouth Dive Workshop", zone=LONDON, instant=at)


def test_it_works() -> None:
    content = pdf(Facts([("customer", "Maja Lindqvist")]), Caution("Bring this ticket."), mark="C-0001")

    assert text_of(content) == (
        "Aldermouth Dive Workshop Claim ticket C-0001 C-0001 customer Maja Lindqvist Bring this ticket. "
        "Aldermouth Dive Workshop Claim ticket C-0001 Printed 25 Nov 2026 12:00, Europe/London, page 1 of 1"
    )
    assert marks_of(content) == [["C-0001"]]
    assert sizes_of(content) == [(210, 297)]


def test_it_gives_the_same_bytes_for_the_same_facts_at_the_same_instant() -> None:
    blocks = Words(LATIN), Words(ARABIC), Words(CHINESE)

    assert pdf(*blocks) == pdf(*blocks)
    assert pdf(*blocks) != pdf(*blocks, at=datetime(2026, 11, 25, 13, tzinfo=UTC))


def test_it_prints_without_any_colour() -> None:
    drawing = Drawing(100, 40, (Line("M0,0 50,20 100,40", 0.4, 1),), (), band=(0, 10, 100, 20))

    assert is_grey(pdf(Caution("Do not dive."), Table(("a",), (60,), [("b",)]), drawing, mark="C-0001"))
    assert is_grey(pdf(Words(CHINESE), Words(ARABIC)))


@pytest.mark.parametrize("name", NAMES)
def test_it_wraps_long_names_inside_the_margins(name: str) -> None:
    content = pdf(
        Facts([("owner", name)]),
        Table(("who", "when"), (60, 60), [(name, name)]),
        Caution(name, 16),
        title=name,
    )

    assert white_edges_mm(content) > 12
    if name not in (ARABIC, HEBREW):
        assert text_of(content).replace(" ", "").replace("\ufffe", "").count(name.replace(" ", "")) == 6


@pytest.mark.parametrize("name", [ARABIC, HEBREW])
def test_it_keeps_every_letter_of_a_name_from_right_to_left(name: str) -> None:
    """What is read back orders such letters in its own way, so they are counted."""
    text = text_of(pdf(Facts([("owner", name)])))

    assert {letter: text.count(letter) for letter in set(name) - {" "}} == {
        letter: name.count(letter) for letter in set(name) - {" "}
    }


def test_it_breaks_a_name_from_right_to_left_after_its_first_words() -> None:
    """The first line holds the beginning: the library alone would put the end there."""
    names = " ".join(["אבגד"] * 30 + ["שלום"])
    text = text_of(pdf(Words(names)))

    assert text.index("שלום") > text.rindex("אבגד") - 40
    assert text.count("אבגד") == 30


def test_it_keeps_a_percentage_on_one_line() -> None:
    content = pdf(Table(("tax",), (26,), [("demo rate, 20 %",)]))

    with pypdfium2.PdfDocument(content) as document:
        assert "20 %" in document[0].get_textpage().get_text_range()


def test_it_keeps_the_words_of_a_sentence_around_a_name_in_their_order() -> None:
    text = text_of(pdf(Words(f"Handed back to {own('محمد')}, 5 Mar 2026.")))

    assert "Handed back to" in text
    assert text.index("محمد") < text.index("5 Mar 2026.")


def test_it_prints_scripts_of_the_second_font() -> None:
    assert "김철수 山田太郎 やまだ" in text_of(pdf(Words("김철수 山田太郎 やまだ")))


def test_it_prints_accents_in_either_form() -> None:
    text = text_of(pdf(Words("Nguye\u0302\u0303n Va\u0306n, Žofie Łukasz Ωμέγα Дмитрий")))

    assert "Nguyễn Văn, Žofie Łukasz Ωμέγα Дмитрий" in text


@pytest.mark.parametrize("sign", ["ส", "\U00012000", "\ud800", "\ue5a5", "\ufdd0"])
def test_it_shows_a_letter_that_no_font_has_as_a_box(sign: str) -> None:
    assert "A□B" in text_of(pdf(Words(f"A{sign}B")))


@pytest.mark.parametrize("sign", ["\0", "\x1b", "\t", "\u2028"])
def test_it_prints_control_characters_as_a_space(sign: str) -> None:
    assert "A B" in text_of(pdf(Words(f"A{sign}B")))


@pytest.mark.parametrize("sign", ["\u202e", "\u2066", "\ufeff"])
def test_it_drops_invisible_characters_that_would_turn_words_around(sign: str) -> None:
    assert "AB 12" in text_of(pdf(Words(f"A{sign}B 12")))


@pytest.mark.parametrize("words", ["{nb}", "**bold** __it__ --x--", "\\(text) Tj", "<b>&amp;"])
def test_it_prints_words_as_they_are(words: str) -> None:
    assert words in text_of(pdf(Words(words)))


def test_it_prints_sixty_rows_with_the_heads_on_every_page() -> None:
    rows = [(f"row-{n:02d}", f"{LATIN} end-{n:02d}") for n in range(60)]

    content = pdf(Table(("number", "what stands there"), (30, 90), rows, 12))

    text, pages = text_of(content), len(sizes_of(content))
    assert [f"row-{n:02d}" in text and f"end-{n:02d}" in text for n in range(60)] == [True] * 60
    assert pages == text.count("what stands there") == 5
    assert f"page 5 of {pages}" in text
    assert white_edges_mm(content) > 12


def test_it_goes_on_with_a_row_that_is_longer_than_a_page() -> None:
    words = [f"w{n}" for n in range(4000)]

    content = pdf(Table(("a", "b"), (30, 60), [("first", " ".join(words)), ("last", "")]))

    assert [word for word in text_of(content).split() if word[0] == "w" and word[1:].isdigit()] == words
    assert "last" in text_of(content)
    assert len(sizes_of(content)) > 2
    assert white_edges_mm(content) > 12


def test_it_says_that_a_table_is_empty() -> None:
    assert "part pieces none" in text_of(pdf(Table(("part", "pieces"), (60, 20), [])))


def test_it_never_leaves_a_heading_alone_at_the_foot() -> None:
    for n in range(34, 54, 2):
        text = text_of(
            pdf(*[Words("x")] * n, Heading("What was left"), Table(("bag",), (60,), [("C-0001-1",)]))
        )
        assert text.index("C-0001-1") - text.index("What was left") < 30, n


def test_it_draws_lines_and_labels() -> None:
    drawing = Drawing(100, 40, (Line("M0 20H100", 1),), (Label(50, 10, "middle", "upper limit 10.0 bar"),))

    content = pdf(drawing)

    assert "upper limit 10.0 bar" in text_of(content)
    assert white_edges_mm(content) > 12


def test_it_prints_one_label_a_page() -> None:
    tags = [Tag(f"C-0001-{n}", ("Maja Lindqvist", "First stage"), "UNDER PRESSURE") for n in range(1, 4)]

    content = drawn(Tags("tags", "Tags", tags), house="", zone=LONDON, instant=NOON)

    assert sizes_of(content) == [(62, 29)] * 3
    assert marks_of(content) == [["C-0001-1"], ["C-0001-2"], ["C-0001-3"]]
    assert text_of(content).count("UNDER PRESSURE") == 3
    assert is_grey(content)


@pytest.mark.parametrize("name", NAMES)
def test_it_makes_words_smaller_until_they_stand_on_the_label(name: str) -> None:
    tag = Tag("C-123456-60", (name, f"First stage, {name}"), "UNDER PRESSURE")

    content = drawn(Tags("tags", "Tags", [tag]), house="", zone=LONDON, instant=NOON)

    assert white_edges_mm(content) > 1.4
    assert marks_of(content) == [["C-123456-60"]]
    assert "UNDER PRESSURE" in text_of(content)
    if name not in (ARABIC, HEBREW):
        assert text_of(content).replace(" ", "").replace("\ufffe", "").count(name.replace(" ", "")) == 2


def test_it_prints_bold_words() -> None:
    plain, bold = pdf(Words("Do not dive")), pdf(Words(Bold("Do not dive")))

    assert text_of(plain) == text_of(bold)
    assert sum(int((255 - each).sum()) for each in pictures_of(bold)) > sum(
        int((255 - each).sum()) for each in pictures_of(plain)
    )
