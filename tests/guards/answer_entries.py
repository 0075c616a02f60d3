"""What each method of each address of private links, answers and bookings needs."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from jobs.answers.actions import say_address, say_gone, set_aside
from jobs.bookings.actions import book_by_link, set_days
from jobs.bookings.models import DropOffDays
from shop.links.models import Link
from shop.links.rules import LinkFor, digest_of
from shop.staff.rules import Can
from shop.workshop.reads import noon, now
from tests.conftest import House
from tests.guards.bodies import Entry

SECRET = "a-private-link-of-the-guards"
KEEP = Can.KEEP_CUSTOMERS

SAY_ELSEWHERE = {"clock": "@clock", "day": "2021-01-01", "elsewhere": "Quay Divers"}
BOOKED, DAY = ((date.today() + timedelta(days=n)).isoformat() for n in (9, 11))
BOOK = {"day": DAY, "note": "The second stage hisses."}
DAYS = {"a_day": 2, "horizon": 60}
OPENS = Entry(public=True, key=SECRET)


def _told(body: dict[str, Any]) -> Entry:
    return Entry(public=True, key=SECRET, body=body)


ANSWERS_API: dict[str, dict[str, Entry]] = {
    "customers/<uuid:uid>/links": {"GET": Entry(Can.SEE, "customer")},
    "customers/<uuid:uid>/links/revoke": {"POST": Entry(KEEP, "customer")},
    "answers": {"GET": Entry(Can.SEE)},
    "answers/<uuid:uid>/confirm": {"POST": Entry(KEEP, "answer")},
    "answers/<uuid:uid>/set-aside": {"POST": Entry(KEEP, "answer")},
    "bookings": {"GET": Entry(Can.SEE)},
    "customers/<uuid:uid>/bookings": {"POST": Entry(Can.CHECK_IN, "customer", body=BOOK)},
    "bookings/<uuid:uid>/move": {"POST": Entry(Can.CHECK_IN, "booking", body={"day": DAY})},
    "bookings/<uuid:uid>/cancel": {"POST": Entry(Can.CHECK_IN, "booking")},
    "drop-off-days": {
        "GET": Entry(Can.SEE),
        "PUT": Entry(Can.KEEP_PEOPLE, body=DAYS),
    },
}
ANSWER_PAGES: dict[str, dict[str, Entry]] = {
    "customers/<uuid:uid>/links/revoke": {
        "GET": Entry(Can.SEE, "customer"),
        "POST": Entry(KEEP, "customer"),
    },
    "answers": {"GET": Entry(Can.SEE)},
    "answers/<uuid:uid>/confirm": {"GET": Entry(Can.SEE, "answer"), "POST": Entry(KEEP, "answer")},
    "answers/<uuid:uid>/set-aside": {"GET": Entry(Can.SEE, "answer"), "POST": Entry(KEEP, "answer")},
    "bookings": {"GET": Entry(Can.SEE)},
    "bookings/days": {"GET": Entry(Can.SEE), "POST": Entry(Can.KEEP_PEOPLE, body=DAYS)},
    "customers/<uuid:uid>/book": {
        "GET": Entry(Can.SEE, "customer"),
        "POST": Entry(Can.CHECK_IN, "customer", body=BOOK),
    },
    "bookings/<uuid:uid>/move": {
        "GET": Entry(Can.SEE, "booking"),
        "POST": Entry(Can.CHECK_IN, "booking", body={"day": DAY}),
    },
    "bookings/<uuid:uid>/cancel": {
        "GET": Entry(Can.SEE, "booking"),
        "POST": Entry(Can.CHECK_IN, "booking"),
    },
    "answer/<slug:secret>": {"GET": OPENS},
    "answer/<slug:secret>/book": {"GET": OPENS, "POST": _told(BOOK)},
    "answer/<slug:secret>/move": {"GET": OPENS, "POST": _told({"booked": BOOKED, "day": DAY})},
    "answer/<slug:secret>/cancel": {"GET": OPENS, "POST": _told({"booked": BOOKED})},
    "answer/<slug:secret>/elsewhere": {"GET": OPENS, "POST": _told(SAY_ELSEWHERE)},
    "answer/<slug:secret>/gone": {"GET": OPENS, "POST": _told({"item": "@other_item", "said": "sold"})},
    "answer/<slug:secret>/address": {"GET": OPENS, "POST": _told({"email": "maja@other.example"})},
    "answer/<slug:secret>/fewer": {"GET": OPENS, "POST": _told({})},
    "answer/<slug:secret>/one-click": {
        "GET": OPENS,
        "POST": _told({"List-Unsubscribe": "One-Click"}),
    },
}
# Constraints: what is written once more, and what a row is changed to.
ANSWER_ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    ("booking_once_a_day", "bookings_booking.customer_id, bookings_booking.day", "bookings_booking", {}),
    ("bookings_dropoffdays_only", "bookings_dropoffdays.only", "bookings_dropoffdays", {}),
    ("links_link_digest", "links_link.digest", "links_link", {}),
    ("answers_newaddress_answer_id", "answers_newaddress.answer_id", "answers_newaddress", {}),
    ("answers_settled_answer_id", "answers_settled.answer_id", "answers_settled", {}),
]
ANSWER_CONSTRAINTS: list[tuple[str, str, dict[str, Any]]] = [
    ("drop_off_days_are_one_row", "bookings_dropoffdays", {"only": False}),
    (
        "booking_came_or_cancelled",
        "bookings_booking",
        {"cancelled_at": "2026-11-25 12:00:00+00:00", "drop_off_id": 1},
    ),
    ("link_purpose_known", "links_link", {"purpose": "sale"}),
]


def answer_rows(house: House) -> dict[str, Any]:
    """A private link whose secret is known, an answer that waits and one that was dealt with."""
    given: dict[str, Any] = {"customer": house.customer, "about": uuid4(), "made_at": now()}
    ends = noon(date(2199, 1, 1))
    link = Link.objects.create(purpose=LinkFor.ANSWER, digest=digest_of(SECRET), ends_at=ends, **given)
    answer = say_address(link=link, email="maja@other.example")
    gone = say_gone(link=link, item=house.item(serial="gone"), said="sold")
    set_aside(by=house.people["counter"], answer=gone)
    set_days(by=house.people["lead"], seen=1, **DAYS)
    DropOffDays.objects.update(version=1)  # what an entry without a row sends as the version it saw
    row = book_by_link(link=link, day=date.fromisoformat(BOOKED), items=[], note="")
    return {"link": link, "answer": answer, "booking": row}


# What is written anew, for the table is append-only.
ANSWER_WRITTEN: list[tuple[str, str, dict[str, Any]]] = [
    ("letter_answer_of_its_kind", "answers_answer", {"said": "maybe"}),
    ("letter_answer_of_its_kind", "answers_answer", {"item_id": None}),
    ("letter_answer_of_its_kind", "answers_answer", {"said": "fewer letters"}),
    ("letter_answer_of_its_kind", "answers_answer", {"said": "done elsewhere"}),
]
