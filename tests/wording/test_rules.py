"""What letters say: places, reasons against a wording, text and HTML of one wording."""

from datetime import date
from html.parser import HTMLParser
from typing import Any

import pytest

from shop.wording.reads import shipped
from shop.wording.rules import LISTS, NEEDED, PLACES, Key, Wording, refusals, render
from shop.words.rules import day_in
from shop.workshop.rules import Language

VALUES: dict[str, Any] = {
    "customer": "Zoë <b>Ørsted</b> & Co",
    "items": ["Hesk (E-00012): Overhaul, due on 1 June 2030", "Tor {customer}: <i>Overhaul</i>"],
    "answer": "https://workshop.example/a/tok?x=1&y=2",
    "workshop": "Aldermouth\n+44 1632 960417",
    "ticket": "C-0031",
    "notice": "Yokes (Tarnwell 7)",
    "words": "They crack.",
    "hours": "Tue to Sat, 10 to 18 h",
    "here": ["Hesk (E-00012)"],
}


class Read(HTMLParser):
    """The words of a page, its links, and the tags that were opened."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.words, self.lang = "", ""
        self.links: list[str] = []
        self.tags: set[str] = set()
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.tags.add(tag)
        self.links += [value for name, value in attrs if name == "href"]
        self.lang = dict(attrs).get("lang", self.lang)

    def handle_data(self, data: str) -> None:
        self.words += data


def test_it_works() -> None:
    wording = Wording("Due", "Dear {customer},\n\nBy our records:\n{items}\n\nAnswer: {answer}\n\n{workshop}")

    made = render(Language.EN, wording, VALUES)

    assert made.text == (
        "Dear Zoë <b>Ørsted</b> & Co,\n\nBy our records:\n\n- Hesk (E-00012): Overhaul, due on 1 June 2030\n"
        "- Tor {customer}: <i>Overhaul</i>\n\nAnswer: https://workshop.example/a/tok?x=1&y=2\n\n"
        "Aldermouth\n+44 1632 960417\n"
    )
    page = Read(made.html)
    assert "Zoë <b>Ørsted</b> & Co" in page.words
    assert page.links == ["https://workshop.example/a/tok?x=1&y=2"]
    assert page.tags == {"html", "head", "meta", "title", "body", "div", "p", "ul", "li", "a", "br"}
    assert page.lang == "en"


@pytest.mark.parametrize("language", list(Language))
@pytest.mark.parametrize("key", list(Key))
def test_it_ships_every_letter_in_every_language(key: Key, language: Language) -> None:
    said = shipped()[key, language]
    assert refusals(key, said.subject, said.text) == []

    values = VALUES | {"day": day_in(language, date(2030, 6, 1))}
    full = render(language, said, values)
    assert "{" not in full.text.replace("Tor {customer}", "")
    assert all(values[name] in full.text for name in PLACES[key] if name not in LISTS)
    assert ("- Hesk (E-00012)" in full.text) == ("items" in PLACES[key])
    assert Read(full.html).lang == language

    needed = {name: value for name, value in values.items() if name in NEEDED[key] and name != "answer"}
    least = render(language, said, needed)
    assert len(least.text) > 30
    assert "{" not in least.text.replace("Tor {customer}", "")
    assert "Zoë" not in least.text


NOT_TO_DIVE = {"en": "do not dive", "de": "tauchen Sie nicht", "fr": "ne pas plonger", "es": "no bucee"}
PROMISES = {"en": "safe", "de": "sicher zu tauchen", "fr": "sans danger", "es": "sin peligro"}


@pytest.mark.parametrize("language", list(Language))
@pytest.mark.parametrize("key", [Key.DOUBT, Key.NOTICE])
def test_it_asks_not_to_dive_and_promises_nothing(key: Key, language: Language) -> None:
    text = render(language, shipped()[key, language], VALUES).text

    assert NOT_TO_DIVE[language] in text
    assert PROMISES[language] not in text.lower().replace("safety notice", "")
    assert not [word for word in ("fault", "mistake", "error", "blame") if word in text.lower()]


@pytest.mark.parametrize(
    ("subject", "text", "codes"),
    [
        ("Due", "{items}\n\n{answer}", []),
        ("Due", "{items}", ["missing-place"]),
        ("", "", ["subject", "text", "missing-place", "missing-place"]),
        ("Two\nlines", "{items}\n\n{answer}", ["subject"]),
        ("Due {customer}", "{items}\n\n{answer}", ["unknown-place"]),
        ("Due", "{items}\n\n{answer} {day} {day} {password}", ["unknown-place", "unknown-place"]),
        ("Due", "{items}\n\n{answer} {customer.email}", ["brace"]),
        ("Due", "{items}\n\n{answer} {customer!r:>9}", ["brace"]),
        ("Due", "{items}\n\n{answer} {0} {} }{", ["brace"]),
        ("Due", "{items}\n\n{answer} {{customer}}", ["brace"]),
        ("Due {", "Gear: {items}, {answer}", ["brace", "not-alone"]),
        ("Due", "{items}\n\n{answer}" + "x" * 6000, ["text"]),
        ("x" * 121, "{items}\n\n{answer}", ["subject"]),
    ],
)
def test_it_tells_every_reason_at_once(subject: str, text: str, codes: list[str]) -> None:
    assert [each.code for each in refusals(Key.REMINDER, subject, text)] == codes


@pytest.mark.parametrize(
    ("key", "text", "codes"),
    [
        (Key.BOOKED, "On {day} about:\r\n{items}\r\n\r\n{answer}", ["may-be-left-out"]),
        (Key.BOOKED, "{day} {answer}\n{items}\n{workshop}", ["may-be-left-out"] * 2),
        (Key.BOOKED, "{customer}, {day} {answer}\n \n{items}\n{workshop}", []),
        (Key.REMINDER, "{items}\n{answer}\n{workshop}", ["may-be-left-out"]),
        (Key.REMINDER, "{items}\n{answer}\n\n{workshop}", []),
        (Key.CANCELLED, "{day} {answer}", ["may-be-left-out"]),
    ],
)
def test_it_keeps_what_is_needed_from_what_may_be_empty(key: Key, text: str, codes: list[str]) -> None:
    """Whatever may be empty is: what is needed stands in the letter all the same unless the wording is refused."""
    assert [each.code for each in refusals(key, "S", text)] == codes

    least = {name: VALUES.get(name, "1 June 2030") for name in (*NEEDED[key], "customer")}
    said = render(Language.EN, Wording("S", text), least).text
    assert all(mark in said for mark in ("Hesk", "1 June 2030", "https://") if mark in str(least)) is (
        codes == []
    )


def test_it_leaves_out_a_paragraph_without_its_value() -> None:
    wording = Wording("S", "Hello\n\nFollow this:\n{answer}\n\nBye\n{workshop}")

    assert render(Language.EN, wording, {"workshop": "Us"}).text == "Hello\n\nBye\nUs\n"


def test_it_makes_links_of_the_wording_and_of_answers_only() -> None:
    wording = Wording("S", "See https://example.org/a?b=1&c=2, or (http://example.org). {customer} {answer}")
    values = {"customer": "Pay https://evil.example now", "answer": "javascript:alert(1)"}

    page = render(Language.FR, wording, values).html

    assert Read(page).links == ["https://example.org/a?b=1&c=2", "http://example.org"]


def test_it_puts_nothing_but_a_day_into_a_subject() -> None:
    assert {name for names in PLACES.values() for name in names} == {
        "customer", "items", "answer", "workshop", "day", "ticket", "notice", "words", "hours", "here",
    }  # fmt: skip
    made = render(Language.EN, Wording("On {day}", "{day}"), {"day": "1 June\r\nBcc: x@y.example"})
    assert made.subject == "On 1 June Bcc: x@y.example"
