"""The list of what is due, and its calendar behind a secret address."""

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis.strategies import characters, text

from shop.clocks.actions import restart, set_going
from shop.clocks.models import Clock
from shop.due.actions import renew_address
from shop.due.rules import Event, calendar, escaped, folded, weeks
from shop.instruments.actions import add_instrument, calibrate
from shop.workshop.reads import today
from tests.conftest import Api, House
from tests.walk import ok

NOW = datetime(2026, 11, 27, 8, 0, tzinfo=UTC)


def due_in(house: House, days: int, kind: str = "first_stage") -> Clock:
    """A clock that falls due in so many days; its item is one more of the customer."""
    by, item = house.people["technician"], house.item(kind, serial=f"D{days}")
    clock = set_going(by=by, item=item, key="overhaul", title="Overhaul", months=12)
    restart(by=by, clock=clock, months=12, day=today() - timedelta(days=400), cause="a")
    Clock.objects.filter(pk=clock.pk).update(due=today() + timedelta(days=days))
    return clock


def titles(page: Any) -> list[str]:
    return re.findall(r'<a href="/items/[^"]*">(E-\d+)</a>', page.content.decode())


def test_it_works(house: House, pages: Any) -> None:
    late, soon, far = due_in(house, -3), due_in(house, 20), due_in(house, 100)

    page = pages["counter"].get("/due")

    assert titles(page) == [late.item.label, soon.item.label]
    assert "1 overdue; 2 fall due in 26 weeks" in page.content.decode()
    assert titles(pages["counter"].get("/due?within=26 weeks")) == [
        each.item.label for each in (late, soon, far)
    ]


def test_it_goes_by_kind_and_owner(house: House, pages: Any, api: dict[str, Api]) -> None:
    first, second = due_in(house, 1), due_in(house, 2, "second_stage")

    assert titles(pages["counter"].get("/due?kind=second_stage")) == [second.item.label]
    assert titles(pages["counter"].get("/due?whose=our own")) == []
    (row,) = ok(api["counter"].get("due?kind=first_stage&clock=overhaul"))["results"]
    assert row["uid"] == str(first.uid)


def test_our_own_instruments_stand_in_list_and_calendar(house: House, pages: Any) -> None:
    """A gauge good for 40 days more, one that was never calibrated; a filter for gear leaves them out."""
    lead, day = house.people["lead"], today()
    good, never = (
        add_instrument(by=lead, code=code, name="Test gauge", kind="gauge", unit="bar", resolution="0.1")
        for code in ("G-90", "G-91")
    )
    calibrate(by=lead, instrument=good, done_on=day, good_to=day + timedelta(days=40), certificate="C-1")

    def codes(query: str) -> list[str]:
        return re.findall(
            r'<a href="/office/instruments/[^"]*">(G-9\d)</a>',
            pages["counter"].get(f"/due{query}").content.decode(),
        )

    assert codes("?within=4 weeks") == []
    assert codes("?within=12 weeks") == ["G-90"]
    assert codes("?within=history not known") == [never.code]
    assert codes("?within=12 weeks&kind=first_stage") == codes("?within=12 weeks&whose=customers'") == []
    address = renew_address(by=lead).partition("/calendar")[2]
    rows = {
        row["SUMMARY"]: row for row in read(pages["stranger"].get(f"/calendar{address}").content.decode())
    }
    assert rows["Calibration: G-90"]["DTSTART;VALUE=DATE"] == f"{day + timedelta(days=40):%Y%m%d}"
    assert "Calibration: G-91" not in rows


def test_what_cannot_be_read_is_refused_beside_the_usual_list(
    house: House, pages: Any, api: dict[str, Api]
) -> None:
    clock = due_in(house, 1)
    page = pages["counter"].get("/due?within=a year")
    assert page.status_code == 400
    assert titles(page) == [clock.item.label]
    assert api["counter"].get("due?within=a year").status_code == 400


def test_the_weeks_count_from_today() -> None:
    day = date(2026, 11, 27)
    found = weeks(
        {day - timedelta(days=1): 2, day: 3, day + timedelta(days=6): 1, day + timedelta(days=7): 5}, day
    )
    assert [bar.count for bar in found.bars[:4]] == [2, 4, 5, 0]
    assert found.most == 5
    assert weeks({}, day).most == 1


def lines_of(body: str) -> list[str]:
    """A second reader, after RFC 5545 3.1: lines end with CRLF, none is over 75 octets, and a blank goes on with the last."""
    assert body.endswith("\r\n")
    physical = body[:-2].split("\r\n")
    assert all(len(line.encode()) <= 75 and "\n" not in line and "\r" not in line for line in physical)
    return re.sub("\r\n[ \t]", "", body)[:-2].split("\r\n")


def unescaped(value: str) -> str:
    """The text of a TEXT value, 3.3.11: a sign after a backslash stands for itself, n for a line break."""
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value)


def read(body: str) -> list[dict[str, str]]:
    """The events of a calendar as the second reader sees them; parameters stay at the name."""
    found: list[dict[str, str]] = []
    for line in lines_of(body):
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            found.append({})
        elif found and "END:VEVENT" not in found[-1]:
            assert name not in found[-1], "each of our properties stands once"
            found[-1][name if line != "END:VEVENT" else line] = value
    assert lines_of(body)[0] == "BEGIN:VCALENDAR"
    assert lines_of(body)[-1] == "END:VCALENDAR"
    return found


def event(summary: str = "Overhaul", description: str = "") -> Event:
    return Event(
        "a@workshop.example", date(2027, 5, 1), summary, description, "https://workshop.example/items/1", 2
    )


@settings(max_examples=300, deadline=None)
@given(
    summary=text(characters(exclude_categories=["Cs", "Cc"])),
    description=text(characters(exclude_categories=["Cs", "Cc"])),
)
def test_any_text_reads_back(summary: str, description: str) -> None:
    (row,) = read(calendar("Due", [event(summary, description)], NOW))
    assert (unescaped(row["SUMMARY"]), unescaped(row["DESCRIPTION"])) == (summary, description)


def test_text_is_escaped() -> None:
    """RFC 5545 3.3.11, as the icalendar library escapes it too: colon and quotation mark stay."""
    assert escaped('a,b;c\\d\ne"f:g') == 'a\\,b\\;c\\\\d\\ne"f:g'
    assert escaped("a\r\nb\rc\x00d") == "a\\nb\\nc d"


@pytest.mark.parametrize(("count", "sizes"), [(63, [75]), (64, [75, 2])])
def test_a_line_of_75_octets_stays_whole(count: int, sizes: list[int]) -> None:
    """RFC 5545 3.1: longer than 75 octets is folded; the blank of the next line counts."""
    assert [len(piece) for piece in folded("DESCRIPTION:" + "x" * count)] == sizes
    assert all(len(piece.encode()) <= 75 for piece in folded("SUMMARY:" + "é" * 60))


def test_the_calendar_is_read_by_whoever_has_its_address(
    house: House, pages: Any, api: dict[str, Api]
) -> None:
    clock = due_in(house, 5)
    assert ok(api["counter"].get("due-calendar"))["address"] == ""
    assert pages["stranger"].get(f"/calendar/{'0' * 64}.ics").status_code == 404
    first = renew_address(by=house.people["lead"]).partition("/calendar")[2]

    answer = pages["stranger"].get(f"/calendar{first}")
    (row,) = read(answer.content.decode())

    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert row["UID"].startswith(f"{clock.uid}@")
    assert row["DTSTART;VALUE=DATE"] == f"{today() + timedelta(days=5):%Y%m%d}"
    assert unescaped(row["SUMMARY"]) == f"Overhaul: {clock.item.label}"
    assert "Lindqvist" not in answer.content.decode()

    second = ok(api["lead"].post("due-calendar/renew"))["address"].partition("/calendar")[2]
    assert second != first
    assert pages["stranger"].get(f"/calendar{first}").status_code == 404
    assert pages["stranger"].get(f"/calendar{second}").status_code == 200


def test_the_uid_stays_and_the_sequence_rises_as_the_day_moves(house: House, pages: Any) -> None:
    clock = due_in(house, 5)
    address = renew_address(by=house.people["lead"]).partition("/calendar")[2]
    (before,) = read(pages["stranger"].get(f"/calendar{address}").content.decode())

    restart(by=house.people["technician"], clock=clock, months=3, day=today(), cause="b")

    (after,) = read(pages["stranger"].get(f"/calendar{address}").content.decode())
    assert after["UID"] == before["UID"]
    assert int(after["SEQUENCE"]) > int(before["SEQUENCE"])
    assert after["DTSTART;VALUE=DATE"] != before["DTSTART;VALUE=DATE"]
