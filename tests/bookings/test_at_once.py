"""Many people book the last room of a day at the same instant."""

from datetime import timedelta

from jobs.bookings.actions import book, set_days
from jobs.bookings.models import Booking
from shop.customers.actions import add_customer
from shop.workshop.reads import today
from shop.workshop.rules import Refused
from tests.conftest import staffed
from tests.threads import together

MANY, ROOM = 12, 3


def test_it_works(real_database: None) -> None:
    """Three of twelve get one of three places; the others are told that the day is full."""
    people = staffed()
    by, day = people["counter"], today() + timedelta(days=2)
    set_days(by=people["lead"], seen=1, a_day=ROOM, horizon=30)
    given = {"kind": "person", "email": "", "phone": "", "reminders": False}
    customers = [add_customer(by=by, name=f"Diver {n}", **given) for n in range(MANY)]  # type: ignore[arg-type]  # one dict for all

    def act(n: int) -> str:
        try:
            book(by=by, customer=customers[n], day=day, items=[], note="")
        except Refused as refused:
            return refused.refusals[0].code
        return "booked"

    found = together(MANY, act)
    assert {each: found.count(each) for each in found} == {"booked": ROOM, "day-full": MANY - ROOM}
    assert Booking.objects.filter(day=day).count() == ROOM
