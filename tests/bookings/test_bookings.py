"""Booking a day: by the link of a letter and at the counter, moved, cancelled, kept; the letters about it."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from jobs.bookings.actions import book, set_days, write_day_before
from jobs.bookings.models import Booking
from jobs.bookings.reads import offered
from jobs.reminders.actions import remind
from shop.clocks.actions import set_going
from shop.clocks.models import Clock
from shop.journal.models import Entry
from shop.post.models import Letter
from shop.wording.reads import letters
from shop.words.rules import day_in
from shop.workshop.models import Workshop
from shop.workshop.reads import at, noon, today
from tests.answers.made import linked, overdue
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import ok


def after(days: int) -> str:
    return (today() + timedelta(days=days)).isoformat()


@pytest.fixture
def house(house: House) -> House:
    """A workshop with room for two drop-offs a day."""
    set_days(by=house.people["lead"], seen=1, a_day=2, horizon=30)
    return house


def told(days: int) -> str:
    """A day as English letters say it."""
    return day_in("en", today() + timedelta(days=days))


def runs() -> list[str]:
    """The subjects of the letters about bookings."""
    return list(Letter.objects.filter(purpose="booking").order_by("pk").values_list("subject", flat=True))


def test_it_works(house: House, pages: dict[str, Client]) -> None:
    """Booked by the link, shown at the counter, checked in with its gear, kept."""
    clock, path, client = overdue(house), linked(house), Client()
    sent = {"day": after(3), "items": [str(clock.item.uid)], "note": "It hisses."}
    assert send(client, f"{path}/book", sent)["Location"] == path
    assert "You are booked" in said(client.get(path), 200)
    assert remind(on=today()) == 0, "who is coming anyway gets no reminder"
    row = Booking.objects.get()
    assert (row.day.isoformat(), row.note, row.items.get()) == (after(3), "It hisses.", clock.item)

    with at(noon(row.day)):
        page = said(pages["counter"].get("/bookings"), 200)
        assert "Maja Lindqvist" in page
        form = f"/customers/{house.customer.uid}/check-in?booking={row.uid}"
        assert str(row.uid) in page
        fields = {each.name: each.value for each in pages["counter"].get(form).context["lines"][0]["first"]}
        assert fields["lines[0]item"] == str(clock.item.uid)
        assert fields["lines[0]plan"] == str(house.plans["first_stage"].uid)
        came = send(pages["counter"], form, fields | {"promised_on": after(20)})
    assert came.status_code == 302
    row.refresh_from_db()
    assert row.drop_off is not None
    assert row.became == "came"
    assert runs() == [f"We expect your diving gear on {told(3)}"]


def test_it_keeps_the_booking_of_today(house: House, api: dict[str, Api]) -> None:
    """Also where nobody looked at the list; another day's stays."""
    path = f"customers/{house.customer.uid}/bookings"
    for days in (0, 5):
        ok(api["counter"].post(path, {"day": after(days)}), 201)
    drop_off = {"customer": str(house.customer.uid), "promised_on": after(9), "lines": [{"words": "a bag"}]}

    ok(api["counter"].post("drop-offs", drop_off), 201)
    assert [row.became for row in Booking.objects.order_by("day")] == ["came", "coming"]


def test_it_keeps_what_was_booked_before_a_merge(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    """The booking of whoever was merged into the customer, also where many items of one model come."""
    twin = ok(api["counter"].post("customers", {"kind": "person", "name": "M. Lindquist"}), 201)
    ok(api["counter"].post(f"customers/{twin['uid']}/bookings", {"day": after(0)}), 201)
    into = {"into": str(house.customer.uid)}
    ok(api["counter"].post(f"customers/{twin['uid']}/merge", into, seen=1))
    given = {"model": str(house.models["second_stage"].uid), "marks": "A\nB"}
    given |= {"plan": str(house.plans["second_stage"].uid), "promised_on": after(9)}
    given |= {"contents": "no gas", "state": "whole", "taint": "none known"}

    assert send(pages["counter"], f"/customers/{house.customer.uid}/many", given).status_code == 302
    assert Booking.objects.get().became == "came"


def test_it_refuses_the_booking_of_somebody_else(house: House, api: dict[str, Api]) -> None:
    mine = ok(api["counter"].post(f"customers/{house.customer.uid}/bookings", {"day": after(2)}), 201)
    other = ok(api["counter"].post("customers", {"kind": "person", "name": "Tomas Ferrier"}), 201)
    given = {"customer": other["uid"], "promised_on": after(9), "lines": [{"words": "a bag"}]}

    with nothing_changes():
        assert codes(api["counter"].post("drop-offs", given | {"booking": mine["uid"]})) == ["no-booking"]


@pytest.mark.parametrize(
    ("days", "code"), [(-1, "day-past"), (31, "day-far"), (4, "day-closed"), (3, "day-full")]
)
def test_it_refuses_days_without_room(house: House, api: dict[str, Api], days: int, code: str) -> None:
    Workshop.objects.update(closed_days=[after(4)])
    set_days(by=house.people["lead"], seen=2, a_day=1, horizon=30)
    other = ok(api["counter"].post("customers", {"kind": "person", "name": "Tomas Ferrier"}), 201)
    ok(api["counter"].post(f"customers/{other['uid']}/bookings", {"day": after(3)}), 201)

    assert codes(api["counter"].post(f"customers/{house.customer.uid}/bookings", {"day": after(days)})) == [
        code
    ]
    assert not {after(3), after(4)} & {day.isoformat() for day, _ in offered()}
    assert Booking.objects.count() == 1


def test_it_takes_weekdays_into_account(house: House) -> None:
    Workshop.objects.update(closed_weekdays=[0, 1, 3, 4, 5, 6])

    assert {day.isoweekday() for day, _ in offered()} == {3}


def test_it_is_moved_and_cancelled_at_both_doors(house: House, api: dict[str, Api]) -> None:
    """By the link, named by its day, and at the counter; each with its letter, twice with one."""
    path, client = linked(house), Client()
    for _ in range(2):
        send(client, f"{path}/book", {"day": after(3)})
    for _ in range(2):
        client.post(f"{path}/move", {"booked": after(3), "day": after(5)})
    row = Booking.objects.get()
    assert (row.day.isoformat(), row.version) == (after(5), 2)
    moved = ok(api["counter"].post(f"bookings/{row.uid}/move", {"day": after(6)}, seen=2))
    assert codes(api["counter"].post(f"bookings/{row.uid}/cancel", seen=2), 412) == []
    send(client, f"{path}/cancel", {"booked": moved["day"]})

    assert runs() == [
        f"We expect your diving gear on {told(3)}",
        f"Your diving gear: the day is now {told(5)}",
        f"Your diving gear: the day is now {told(6)}",
        f"Your diving gear: {told(6)} is cancelled",
    ]
    assert codes(api["counter"].post(f"bookings/{row.uid}/cancel", seen=4)) == ["no-booking"]
    assert Entry.objects.filter(verb__startswith="booking", by="customer").count() == 2
    assert send(client, f"{path}/book", {"day": after(6)}).status_code == 302, "the day has room again"


def test_it_writes_the_other_notes_when_one_fails(
    house: House, api: dict[str, Api], monkeypatch: pytest.MonkeyPatch
) -> None:
    bad = ok(
        api["counter"].post("customers", {"name": "Bad", "kind": "person", "email": "bad@a.example"}), 201
    )
    for uid in (bad["uid"], house.customer.uid):
        ok(api["counter"].post(f"customers/{uid}/bookings", {"day": after(3)}), 201)

    def stumbles(key: Any, purpose: Any, told: Any) -> Any:
        return letters(key, purpose, told) if told[0][0].name != "Bad" else 1 // 0

    monkeypatch.setattr("jobs.bookings.actions.letters", stumbles)
    assert write_day_before(on=date.fromisoformat(after(2))) == 1
    assert Letter.objects.get(subject__contains="see you on").address == house.customer.email


def test_it_writes_the_day_before_once(house: House, api: dict[str, Api]) -> None:
    """Once for each day, whether or not reminders are wanted, and with a link that works."""
    house.customer.__class__.objects.update(reminders=False)
    row = ok(api["counter"].post(f"customers/{house.customer.uid}/bookings", {"day": after(3)}), 201)
    eve = date.fromisoformat(after(2))
    with at(noon(eve)):
        assert [write_day_before(on=eve) for _ in range(2)] == [1, 0]
    assert write_day_before(on=eve + timedelta(days=1)) == 0

    ok(api["counter"].post(f"bookings/{row['uid']}/move", {"day": after(8)}, seen=1))
    assert write_day_before(on=date.fromisoformat(after(7))) == 1
    eves = Letter.objects.filter(subject__contains="see you on")
    assert eves.count() == 2
    text = bytes(eves[0].body).decode()
    path = text.partition("http://127.0.0.1:8710")[2].split()[0]
    assert Client().get(path).status_code == 200


def test_it_shows_who_did_not_come(house: House, api: dict[str, Api], pages: dict[str, Client]) -> None:
    """Reminders go on after that."""
    overdue(house)
    ok(api["counter"].post(f"customers/{house.customer.uid}/bookings", {"day": after(1)}), 201)
    assert remind(on=today()) == 0

    with at(noon(date.fromisoformat(after(2)))):
        assert "not come" in said(pages["technician"].get("/bookings"), 200)
        assert remind(on=today()) == 1


def test_it_says_what_is_wrong_with_days(house: House, pages: dict[str, Client]) -> None:
    page = send(pages["lead"], "/bookings/days", {"a_day": "-1", "horizon": "0"})

    assert page.status_code == 400
    assert {each.name for each in page.context["form"].wrong} == {"a_day", "horizon"}


def test_it_loses_nothing_of_a_second_booking(house: House, api: dict[str, Api]) -> None:
    """The same twice is one; other gear or another note on that day is refused."""
    path = f"customers/{house.customer.uid}/bookings"
    item = house.item()
    given = {"day": after(2), "items": [str(item.uid)], "note": "It hisses."}
    first = ok(api["counter"].post(path, given), 201)

    with nothing_changes():
        others: list[dict[str, Any]] = [{"items": []}, {"note": "It leaks."}]
        for more in others:
            assert "booked-already" in codes(api["counter"].post(path, given | more))
    assert ok(api["counter"].post(path, given), 201)["uid"] == first["uid"]
    assert len(runs()) == 1


def test_it_takes_no_gear_of_others(house: House, api: dict[str, Api]) -> None:
    other: Any = ok(api["counter"].post("customers", {"kind": "person", "name": "Tomas Ferrier"}), 201)
    mine = str(house.item().uid)

    given = {"day": after(2), "items": [mine]}
    assert codes(api["counter"].post(f"customers/{other['uid']}/bookings", given)) == ["not-theirs"]


def test_booked_gear_speaks_for_its_parts_until_it_comes(house: House, api: dict[str, Api]) -> None:
    """A first stage without history whose plan renews one ring; what is not named, or not due by then, speaks for nothing."""
    item, part, by = house.item(serial="B-1"), house.lots["TH-302"].part, house.people["counter"]
    plan = house.plans["first_stage"].plan
    clock = set_going(by=by, item=item, key=plan.clock_key, title=plan.clock_title, months=plan.clock_months)

    def spoken() -> list[tuple[str, int]]:
        body = ok(api["counter"].get(f"parts/{part.uid}/level"))
        return [(row["job"], row["pieces"]) for row in body["jobs"]]

    row = book(by=by, customer=house.customer, day=date.fromisoformat(after(10)), items=[item], note="")
    assert spoken() == [(str(row.uid), 1)]
    Clock.objects.filter(pk=clock.pk).update(unknown=False, due=today() + timedelta(days=71))
    assert spoken() == []
    Clock.objects.filter(pk=clock.pk).update(due=today() + timedelta(days=70))
    assert spoken() == [(str(row.uid), 1)]
    line = {"item": str(item.uid), "plan": str(house.plans["first_stage"].uid), "contents": "no gas"}
    visit = {"customer": str(house.customer.uid), "promised_on": "2199-01-01", "lines": [line]}
    job = ok(api["counter"].post("drop-offs", visit), 201)["lines"][0]["job"]
    assert spoken() == [(job, 1)]


def test_it_bounds_what_a_link_may_do(house: House, api: dict[str, Api]) -> None:
    """Two days at a time from tomorrow on, five bookings and moves a day; the counter may do more."""
    path, client = linked(house), Client()

    def booked(days: int) -> Any:
        return send(client, f"{path}/book", {"day": after(days)}).status_code

    def moved(before: int, days: int) -> int:
        given = {"booked": after(before), "day": after(days)}
        return client.post(f"{path}/move", given).status_code

    with nothing_changes():
        assert client.post(f"{path}/book", {"day": after(0)}).status_code in (400, 409)
    assert [booked(3), booked(4), booked(5)] == [302, 302, 409]
    assert [moved(3, 0), moved(3, 6)] == [409, 302]
    send(client, f"{path}/cancel", {"booked": after(4)})
    assert booked(4) == 302
    send(client, f"{path}/cancel", {"booked": after(4)})
    assert booked(4) == 302
    with nothing_changes():
        assert moved(6, 7) == 409
    assert Letter.objects.filter(purpose="booking").count() == 7
    ok(api["counter"].post(f"customers/{house.customer.uid}/bookings", {"day": after(9)}), 201)
    with at(noon(today() + timedelta(days=1))):
        assert moved(5, 6) == 302
