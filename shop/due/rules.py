"""The list of what is due, its weeks as a picture, and a calendar after RFC 5545. Pure."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

WEEK, SHOWN = 7, 26
WIDTH, HEIGHT, LEFT, TOP, FOOT, GAP = 900, 220, 60, 30, 180, 3


class Within(StrEnum):
    """How far ahead the list looks."""

    OVERDUE = "overdue"
    MONTH = "4 weeks"
    QUARTER = "12 weeks"
    HALF = "26 weeks"
    UNKNOWN = "history not known"

    def last(self, day: date) -> date:
        """The last day of the list."""
        if self is Within.OVERDUE:
            return day - timedelta(days=1)
        return day + timedelta(weeks=int(self.split()[0])) if self is not Within.UNKNOWN else day


class Whose(StrEnum):
    """Whose gear."""

    CUSTOMERS = "customers'"
    OURS = "our own"


@dataclass(frozen=True)
class Bar:
    """So many clocks that fall due in a week, or were due before; where its bar stands in the picture."""

    begins: date | None
    count: int
    x: str
    y: str
    width: str
    height: str


@dataclass(frozen=True)
class Weeks:
    """The weeks to come: what is overdue first, then each week from today."""

    bars: list[Bar]
    most: int
    sentence: str
    width: str = str(WIDTH)
    height: str = str(HEIGHT)
    left: str = str(LEFT)
    foot: str = str(FOOT)


def weeks(days: Mapping[date, int], day: date) -> Weeks:
    """The picture of so many clocks due on days."""
    counts = [sum(n for due, n in days.items() if due < day), *([0] * SHOWN)]
    for due, n in days.items():
        if 0 <= (week := (due - day).days // WEEK) < SHOWN and due >= day:
            counts[week + 1] += n
    most = _round(max(counts))
    step = (WIDTH - LEFT) / len(counts)
    bars = []
    for n, count in enumerate(counts):
        begins = day + timedelta(weeks=n - 1) if n else None
        height = (FOOT - TOP) * count / most
        x, y = f"{LEFT + n * step + GAP:.1f}", f"{FOOT - height:.1f}"
        bars.append(Bar(begins, count, x, y, f"{step - 2 * GAP:.1f}", f"{height:.1f}"))
    said = f"{counts[0]} overdue; {sum(counts[1:])} fall due in {SHOWN} weeks, {max(counts[1:])} in the fullest of them."
    return Weeks(bars, most, said)


def _round(most: int) -> int:
    """The next round number, so that the axis ends with one."""
    tens = 1
    while tens * 10 < most:
        tens *= 10
    return next(tens * n for n in (1, 2, 5, 10) if tens * n >= most)


@dataclass(frozen=True)
class Event:
    """One day of a calendar: `uid` stays, `sequence` rises when the day changes; `url` may be empty."""

    uid: str
    day: date
    summary: str
    description: str
    url: str
    sequence: int


def calendar(name: str, events: Iterable[Event], stamp: datetime, method: str = "") -> str:
    """A calendar of whole days after RFC 5545; an instant of UTC says when it was made. A letter's says its method (RFC 5546)."""
    made = f"{stamp:%Y%m%dT%H%M%SZ}"
    lines = [
        "BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Ebbwright//Due list//EN", "CALSCALE:GREGORIAN",
        *([f"METHOD:{method}"] if method else []),
        f"NAME:{escaped(name)}", f"X-WR-CALNAME:{escaped(name)}", "REFRESH-INTERVAL;VALUE=DURATION:PT12H",
    ]  # fmt: skip
    for event in events:
        lines += [
            "BEGIN:VEVENT", f"UID:{event.uid}", f"DTSTAMP:{made}", f"DTSTART;VALUE=DATE:{event.day.isoformat().replace('-', '')}",
            f"SEQUENCE:{event.sequence}", f"SUMMARY:{escaped(event.summary)}",
            f"DESCRIPTION:{escaped(event.description)}", *([f"URL:{event.url}"] if event.url else []),
            "TRANSP:TRANSPARENT", "END:VEVENT",
        ]  # fmt: skip
    return "".join(f"{part}\r\n" for line in [*lines, "END:VCALENDAR"] for part in folded(line))


def escaped(text: str) -> str:
    """A TEXT value: backslash, semicolon, comma and line break escaped, other control signs left out."""
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    plain = re.sub(r"[\0-\x09\x0b-\x1f\x7f]", " ", plain)
    for sign in ("\\", ";", ","):
        plain = plain.replace(sign, f"\\{sign}")
    return plain.replace("\n", "\\n")


def folded(line: str, most: int = 75) -> Sequence[str]:
    """A content line in pieces of at most so many octets, each after the first with a blank before it; no sign is cut."""
    pieces, size = [""], 0
    for sign in line:
        octets = len(sign.encode())
        if size + octets > most:
            pieces.append(" ")
            size = 1
        pieces[-1] += sign
        size += octets
    return pieces
