"""When letters go, how many a day, in which language, and what they bring."""

from datetime import date, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

import pytest
from django.db import transaction

from jobs.answers.models import Answer
from jobs.answers.rules import Said
from jobs.bookings.models import Booking
from jobs.reminders.actions import remind
from jobs.reminders.models import Reminder
from jobs.reminders.reads import ahead, brought, ladders, owed
from jobs.reminders.rules import rung
from shop.clocks.actions import restart, set_going
from shop.clocks.models import Clock
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.journal.models import Entry
from shop.links.models import Link
from shop.post.actions import send_waiting
from shop.post.models import Letter
from shop.workshop.models import Workshop
from shop.workshop.reads import at, noon
from shop.workshop.rules import add_months
from tests.conftest import Api, House
from tests.rows import codes, nothing_changes, said, send
from tests.walk import Walk, ok

DUE = date(2030, 6, 1)  # a Saturday
TIMES: dict[str, Any] = {"language": "de", "letters_from": 9, "letters_until": 18}


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> None:
    """Letters go into a folder of the test's own."""
    settings.SMTP, settings.LETTERS = None, tmp_path / "letters"


def due(house: House, item: Item, on: date = DUE, key: str = "overhaul") -> Clock:
    """A clock of an item that falls due on a day."""
    by = house.people["technician"]
    clock = set_going(by=by, item=item, key=key, title=key.capitalize(), months=12)
    with transaction.atomic():
        return restart(by=by, clock=clock, months=12, day=add_months(on, -12), cause=f"a test of {key}")


def many(house: House, days: list[date]) -> list[Customer]:
    """A customer for each day, with one clock that falls due on it; written in bulk."""
    first = Customer.objects.get(pk=house.customer.pk)
    told: dict[str, Any] = {"kind": "person", "reminders": True, "language": "fr"}
    people = Customer.objects.bulk_create(
        Customer(number=900 + n, name=f"N{n}", email=f"n{n}@speed.example", **told) for n in range(len(days))
    )
    items = Item.objects.bulk_create(
        Item(number=900 + n, owner=who, model=house.models["first_stage"]) for n, who in enumerate(people)
    )
    Clock.objects.bulk_create(
        Clock(item=item, key="overhaul", title="Overhaul", due=day, unknown=False)
        for item, day in zip(items, days, strict=True)
    )
    assert first.reminders
    return people


def message(letter: Letter) -> Any:
    return message_from_bytes(bytes(letter.body), EmailMessage, policy=default)


def test_it_works(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    clock = due(house, house.item())
    Clock.objects.update(moved=2)
    Customer.objects.update(language="fr")

    assert remind(on=DUE) == 1

    letter = message(Letter.objects.get())
    text, html = (letter.get_body((kind,)).get_content() for kind in ("plain", "html"))
    assert "Bonjour Maja Lindqvist," in text
    assert "Révision, échéance le 1er juin 2030" in text
    assert "/answer/" in text
    assert '<html lang="fr">' in html
    assert text.split("/answer/")[1].split()[0] in html
    assert "/one-click>" in letter["List-Unsubscribe"]
    (days,) = letter.iter_attachments()
    assert (days.get_content_type(), days.get_param("method")) == ("text/calendar", "PUBLISH")
    lines = days.get_content().splitlines()
    assert {
        "METHOD:PUBLISH",
        f"UID:{clock.uid}@127.0.0.1",
        "DTSTART;VALUE=DATE:20300601",
        "SEQUENCE:2",
    } <= set(lines)
    assert not any(line.startswith("URL:") for line in lines)
    assert "Bonjour Maja" in said(pages["lead"].get(f"/office/letters/{Letter.objects.get().uid}"), 200)


def test_it_takes_the_workshops_language_where_none_was_said(
    api: dict[str, Api], pages: dict[str, Any]
) -> None:
    assert ok(api["lead"].put("letter-times", TIMES, seen=1))["language"] == "de"
    told = {"kind": "person", "name": "Rowan", "email": "rowan@achterberg.example", "reminders": True}

    row = ok(api["counter"].post("customers", told), 201)
    other = ok(api["counter"].post("customers", told | {"language": "es"}), 201)

    assert (row["language"], other["language"]) == ("de", "es")
    assert '<option value="de" selected>German' in said(pages["counter"].get("/customers/new"), 200)
    assert api["counter"].post("customers", told | {"language": "xx"}).status_code == 400
    changed = ok(api["counter"].put(f"customers/{row['uid']}", told | {"language": "fr"}, seen=1))
    assert changed["language"] == "fr"
    assert "French" in said(pages["counter"].get(f"/customers/{row['uid']}"), 200)


def test_it_keeps_times_by_both_doors(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    with nothing_changes():
        assert api["counter"].put("letter-times", TIMES, seen=1).status_code == 403
        assert api["lead"].put("letter-times", TIMES, seen=9).status_code == 412
        bad = TIMES | {"letters_from": 17, "closed_weekdays": list(range(7))}
        assert codes(api["lead"].put("letter-times", bad, seen=1)) == ["hours", "always-closed"]
        wrong = api["lead"].put("letter-times", TIMES | {"closed_days": "soon\n2030-02-30"}, seen=1)
        assert wrong.status_code == 400
        assert len(wrong.json()["errors"]) == 2

    typed = TIMES | {
        "seen": 1,
        "closed_weekdays": ["6", "5"],
        "closed_days": "2030-06-04\n2030-06-03\n2030-06-03",
    }
    assert send(pages["lead"], "/office/letters/times", typed).status_code == 302

    row = Workshop.objects.get()
    assert (row.closed_weekdays, row.closed_days) == ([5, 6], ["2030-06-03", "2030-06-04"])
    assert "2030-06-03\n2030-06-04" in said(pages["lead"].get("/office/letters/times"), 200)
    due(house, house.item())
    went = [day for n in range(6) if remind(on=(day := DUE + timedelta(days=n)))]
    assert went == [date(2030, 6, 5)]
    assert Entry.objects.filter(subject="workshop", verb="settings changed").count() == 1


def test_it_climbs_a_ladder_of_its_own(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    due(house, house.item())
    hose = due(house, house.item("second_stage", "TH-2"), key="hose")
    with nothing_changes():
        assert codes(api["lead"].put("ladders/hose", {"rungs": "0, -7, 400"}, seen=0)) == [
            "too-far",
            "not-rising",
        ]
        assert api["lead"].put("ladders/hose", {"rungs": "soon"}, seen=0).status_code == 400
        assert api["lead"].put("ladders/nobody", {"rungs": "0"}, seen=0).status_code == 404
        assert api["counter"].put("ladders/hose", {"rungs": "0"}, seen=0).status_code == 403

    assert ok(api["lead"].put("ladders/hose", {"rungs": "-90, +7"}, seen=0))["rungs"] == [-90, 7]
    remind(on=DUE - timedelta(days=90))
    assert list(Reminder.objects.values_list("clock", "rung")) == [(hose.pk, -90)]
    remind(on=DUE - timedelta(days=14))
    assert set(Reminder.objects.values_list("rung", flat=True)) == {-90, -14}

    assert "90 days before, 7 days after" in said(pages["counter"].get("/office/letters/ladders"), 200)
    assert send(pages["lead"], "/office/letters/ladders/hose", {"seen": 1, "rungs": ""}).status_code == 302
    told = ok(api["lead"].get("ladders/hose"))
    assert (told["rungs"], told["own"]) == ([-56, -14, 0, 30], False)


def test_it_pesters_nobody_when_a_ladder_changes(house: House, api: dict[str, Api]) -> None:
    due(house, house.item())
    ok(api["lead"].put("ladders/any-clock", {"rungs": "-28, 0, 30"}, seen=0))
    assert remind(on=DUE - timedelta(days=28)) == 1

    ok(api["lead"].put("ladders/any-clock", {"rungs": ""}, seen=1))

    assert [remind(on=DUE - timedelta(days=n)) for n in (27, 15, 14)] == [0, 0, 1]


def test_it_starves_nobody_under_a_cap(house: House) -> None:
    """Days drawn by chance, more owed than the cap takes for weeks: everybody is written to, what is due longest first."""
    draw = Random(20261127)
    many(house, [DUE + timedelta(days=draw.randrange(-40, 70)) for _ in range(40)])
    Workshop.objects.update(letters_a_day=3, closed_weekdays=[6])
    day, known = DUE, ladders()
    for _ in range(60):
        before = [(who.pk, min(c.due for c in clocks if c.due)) for who, clocks in owed(day)]
        assert all(one[1] <= other[1] for one, other in pairwise(before))
        with at(noon(day)):
            went = remind(on=day) + remind(on=day)  # a second run finds the day's letters written
        assert went == (0 if day.weekday() == 6 else min(3, len(before)))
        after = {who.pk for who, _ in owed(day)}
        assert {pk for pk, _ in before} - after == {pk for pk, _ in before[:went]}
        day += timedelta(days=1)

    assert Letter.objects.values("recipient").distinct().count() == 40
    assert not [
        clock.pk
        for clock in Clock.objects.exclude(due=None)
        if clock.due
        and (step := rung(clock.due, day, known.others)) is not None
        and not Reminder.objects.filter(clock=clock, rung__gte=step).exists()
        and clock.due <= day - timedelta(days=60)
    ]


def test_it_tells_what_goes_next(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    many(house, [DUE, DUE + timedelta(days=3), DUE + timedelta(days=200)])
    due(house, house.item())
    Workshop.objects.update(letters_a_day=2, closed_weekdays=[5])
    with at(noon(DUE - timedelta(days=1))), nothing_changes():
        found = ahead()
        page = said(pages["counter"].get("/office/letters/next"), 200)
        told = ok(api["counter"].get("letters-ahead"))["ahead"]

    assert (found.day, found.letters, found.left) == (date(2030, 6, 2), 2, 1)
    assert found.languages == {"English": 1, "French": 1}
    assert found.rungs == {0: 2}
    assert "Sunday 2 June 2030" in page
    assert (told["letters"], told["left"], told["rungs"]) == (2, 1, {"0": 2})
    assert remind(on=date(2030, 6, 2)) == found.letters
    assert api["technician"].get("letters-ahead").status_code == 403


def test_it_tells_what_letters_brought(house: House, api: dict[str, Api], pages: dict[str, Any]) -> None:
    walk = Walk(house, api)
    ok(walk.sign(outcome="declined", words="It goes back."), 201)
    ok(walk.hand_back(acknowledged=True), 201)
    drop_off = walk.item.lines.get().drop_off
    due(house, walk.item)
    due(house, house.item(serial="TH-2"))
    for n in (45, 90):
        when = drop_off.at - timedelta(days=n)
        Clock.objects.update(due=when.date())
        with at(when):
            remind(on=when.date())
    with nothing_changes():
        assert list(brought()) == []
    send_waiting()

    assert list(brought()) == [{"rung": 0, "letters": 2, "answered": 0, "booked": 0, "came": 1}]
    reminder = Reminder.objects.latest("at")
    assert reminder.letter
    link, owner = Link.objects.get(about=reminder.letter), walk.item.owner
    Answer.objects.create(customer=owner, link=link, said=Said.FEWER, at=reminder.at)
    booking = {"customer": owner, "day": reminder.due, "made_at": reminder.at + timedelta(days=30)}
    Booking.objects.create(**booking).items.add(reminder.clock.item)
    assert list(brought()) == [{"rung": 0, "letters": 2, "answered": 1, "booked": 1, "came": 1}]
    assert "after 1 of them" in said(pages["lead"].get("/office/letters/next"), 200)
