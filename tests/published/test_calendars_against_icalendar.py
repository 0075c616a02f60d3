"""Calendars as icalendar 7.3.2 reads them, a library of its own for RFC 5545."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis.strategies import characters, dates, integers, lists, text
from icalendar import Calendar

from shop.due.rules import Event, calendar

MADE = datetime(2026, 11, 28, 2, 30, 5, tzinfo=UTC)
# Control signs are left out by us, and a line break by its own sign only; lone surrogates are no text.
WORDS = text(characters(exclude_categories=["Cs", "Cc"], include_characters="\n"))


def read(body: str) -> Any:
    """The calendar, in which the library found nothing wrong."""
    found = Calendar.from_ical(body)
    assert isinstance(found, Calendar)
    assert [found.errors, *(event.errors for event in found.events)] == [[]] * (1 + len(found.events))
    return found


@settings(max_examples=300, deadline=None)
@given(summary=WORDS, description=WORDS, day=dates(date(1970, 1, 1)), sequence=integers(0, 2**31 - 1))
def test_it_reads_whatever_text_and_day(summary: str, description: str, day: date, sequence: int) -> None:
    url = "https://workshop.example/items/1?a=b;c,d"
    made = calendar(
        "Due at us", [Event("a@workshop.example", day, summary, description, url, sequence)], MADE
    )

    found = read(made)
    (event,) = found.events

    assert (found["VERSION"], found["X-WR-CALNAME"], found["CALSCALE"]) == (
        "2.0",
        "Due at us",
        "GREGORIAN",
    )
    assert (event["SUMMARY"], event["DESCRIPTION"]) == (summary, description)
    assert (event["DTSTART"].dt, event["DTSTAMP"].dt, event["SEQUENCE"]) == (day, MADE, sequence)
    assert (event["UID"], event["URL"], event["TRANSP"]) == ("a@workshop.example", url, "TRANSPARENT")


@settings(max_examples=50, deadline=None)
@given(days=lists(dates(), max_size=20))
def test_it_reads_as_many_events_in_their_order(days: list[date]) -> None:
    made = [Event(f"{n}@workshop.example", day, "é" * n, "", "", n) for n, day in enumerate(days)]

    events = read(calendar("Due", made, MADE, "PUBLISH")).events

    assert [(event["UID"], event["DTSTART"].dt, event["SEQUENCE"]) for event in events] == [
        (each.uid, each.day, each.sequence) for each in made
    ]


@pytest.mark.parametrize("broken", ["DTSTART;VALUE=DATE:20270231", "BEGIN:VALARM"])
def test_the_library_finds_what_is_wrong(broken: str) -> None:
    """Or finding nothing would show nothing."""
    body = calendar("Due", [Event("a@workshop.example", date(2027, 2, 28), "", "", "", 0)], MADE)

    with pytest.raises((AssertionError, ValueError)):
        read(body.replace("DTSTART;VALUE=DATE:20270228", broken))
