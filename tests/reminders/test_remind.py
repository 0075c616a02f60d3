"""`manage.py remind`: one letter per customer, each rung once, and none where none is wanted."""

from datetime import UTC, date, datetime, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction

from jobs.reminders.models import Reminder
from jobs.reminders.reads import owed
from jobs.reminders.tasks import daily
from shop.clocks.actions import restart, set_going
from shop.clocks.models import Clock
from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.instruments.actions import calibrate
from shop.post.models import Letter
from shop.workshop.reads import at
from shop.workshop.rules import add_months
from tests.conftest import Api, House
from tests.rows import nothing_changes
from tests.walk import Walk, ok

DUE = date(2030, 6, 1)


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    """Letters go into a folder of the test's own."""
    settings.SMTP, settings.LETTERS = None, tmp_path / "letters"
    return tmp_path / "letters"


def due(house: House, item: Item, on: date = DUE) -> Clock:
    """A clock of an item that falls due on a day."""
    by = house.people["technician"]
    clock = set_going(by=by, item=item, key="overhaul", title="Overhaul", months=12)
    with transaction.atomic():
        return restart(by=by, clock=clock, months=12, day=add_months(on, -12), cause="a test")


def remind(on: str, *more: str) -> str:
    """What the command says."""
    out = StringIO()
    call_command("remind", "--on", on, *more, stdout=out)
    return out.getvalue().strip()


def text_of(letter: Letter) -> str:
    body = message_from_bytes(bytes(letter.body), EmailMessage, policy=default).get_body(("plain",))
    return str(body.get_content() if body else "")


def test_it_works(house: House, folder: Path) -> None:
    due(house, house.item())
    due(house, house.item("second_stage", "TH-2"), date(2030, 6, 10))

    assert remind("2030-06-01") == "1 letters written, 1 sent."

    letter = Letter.objects.get()
    assert (letter.address, letter.run, letter.state) == ("maja@lindqvist.example", "2030-06-01", "sent")
    assert "Overhaul, due on 1 June 2030" in text_of(letter)
    assert "Overhaul, due on 10 June 2030" in text_of(letter)
    assert set(Reminder.objects.values_list("rung", "letter")) == {(0, letter.uid), (-14, letter.uid)}
    assert len(list(folder.iterdir())) == 1


def test_it_writes_none_on_a_second_run(house: House) -> None:
    due(house, house.item())
    remind("2030-06-01")

    with nothing_changes():
        assert remind("2030-06-01") == "0 letters written, 0 sent."
        assert remind("2030-06-02") == "0 letters written, 0 sent."


def test_it_writes_one_letter_for_each_customer(house: House) -> None:
    other = add_customer(
        by=house.people["counter"], kind="person", name="Tomas Ferrier", email="tomas@ferrier.example",
        phone="", reminders=True,
    )  # fmt: skip
    items = [house.item(serial=f"R-{n}") for n in range(4)]
    Item.objects.filter(pk__in=[items[1].pk, items[3].pk]).update(owner=other)
    for item in items:
        due(house, item)

    assert remind("2030-06-01") == "2 letters written, 2 sent."
    assert {row.address: text_of(row).count("Overhaul") for row in Letter.objects.all()} == {
        "maja@lindqvist.example": 2,
        "tomas@ferrier.example": 2,
    }


def test_it_writes_nothing_in_a_dry_run(house: House, folder: Path) -> None:
    due(house, house.item())

    with nothing_changes():
        assert remind("2030-06-01", "--dry-run") == f"Would write to {house.customer.label}: 1 due."

    assert not folder.exists()


@pytest.mark.parametrize(("reminders", "email"), [(False, "maja@lindqvist.example"), (True, "")])
def test_it_writes_to_nobody_without_consent_or_address(house: House, reminders: bool, email: str) -> None:
    due(house, house.item())
    Customer.objects.update(reminders=reminders, email=email)

    with nothing_changes():
        assert remind("2030-06-01") == "0 letters written, 0 sent."


def test_it_writes_nothing_about_gear_that_is_here(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    due(house, walk.item)

    with nothing_changes():
        assert remind("2030-06-01") == "0 letters written, 0 sent."


def test_it_writes_nothing_for_a_clock_that_never_ran(house: House) -> None:
    by = house.people["technician"]
    set_going(by=by, item=house.item(), key="overhaul", title="Overhaul", months=12)

    with nothing_changes():
        assert remind("2030-06-01") == "0 letters written, 0 sent."


def test_it_writes_a_year_after_the_job(house: House, api: dict[str, Api]) -> None:
    walk, lead, year = Walk(house, api), house.people["lead"], (date(2030, 1, 1), date(2030, 12, 31))
    for tool in house.instruments.values():
        calibrate(by=lead, instrument=tool, done_on=year[0], good_to=year[1], certificate="C-2030")
    with at(datetime(2030, 2, 28, 12, tzinfo=UTC)):
        walk.to("handed_back")

    assert walk.item.clocks.get().due == date(2031, 2, 28)
    assert remind("2031-01-02") == "0 letters written, 0 sent."
    assert remind("2031-01-03") == "1 letters written, 1 sent."


def test_it_writes_only_the_newest_rung_after_an_outage(house: House) -> None:
    due(house, house.item())

    remind("2030-07-15")

    assert list(Reminder.objects.values_list("rung", flat=True)) == [30]
    assert "Overhaul, was due on 1 June 2030" in text_of(Letter.objects.get())


def test_it_climbs_the_ladder_with_four_letters(house: House) -> None:
    due(house, house.item())
    day = date(2030, 4, 5)

    written = [
        on for n in range(90) if remind((on := day + timedelta(days=n)).isoformat()).startswith("1 letters")
    ]

    assert written == [date(2030, 4, 6), date(2030, 5, 18), date(2030, 6, 1), date(2030, 7, 1)]


def test_it_keeps_a_clock_for_the_next_day_when_its_customer_has_had_the_letter_of_the_day(
    house: House,
) -> None:
    due(house, house.item())
    remind("2030-06-01")
    late = due(house, house.item("second_stage", "TH-2"))

    assert remind("2030-06-01") == "0 letters written, 0 sent."
    assert Reminder.objects.get(clock=late).letter is None

    assert remind("2030-06-02") == "1 letters written, 1 sent."
    assert Reminder.objects.get(clock=late).letter is not None


@pytest.mark.parametrize("on", ["nonsense", "2030-02-30", "1 June", "2030-13-01"])
def test_it_refuses_a_day_that_is_none(house: House, on: str) -> None:
    due(house, house.item())

    with nothing_changes(), pytest.raises(CommandError, match="is not a date like 2026-05-01"):
        remind(on)


@pytest.mark.parametrize(
    ("hour", "minute", "written"),
    # London keeps summer time in June: 6:59 UTC is 7:59 there.
    [(0, 0, 0), (6, 59, 0), (7, 0, 1), (18, 59, 1), (19, 0, 0)],
)
def test_it_waits_for_eight_in_the_morning(house: House, hour: int, minute: int, written: int) -> None:
    due(house, house.item())

    with at(datetime(2030, 6, 1, hour, minute, tzinfo=UTC)):
        daily()
        daily()

    assert Letter.objects.count() == written


@pytest.mark.parametrize(
    ("outcome", "written"), [("condemned", 0), ("beyond repair", 0), ("failed", 1), ("declined", 1)]
)
def test_it_writes_nothing_about_gear_that_will_never_dive_again(
    house: House, api: dict[str, Api], outcome: str, written: int
) -> None:
    walk = Walk(house, api)
    due(house, walk.item)
    ok(walk.sign(outcome=outcome, words="The seat bore is scored."), 201)
    ok(walk.hand_back(acknowledged=True), 201)

    assert remind("2030-06-01") == f"{written} letters written, {written} sent."
    assert Letter.objects.count() == written


def test_it_writes_about_the_rest_when_one_item_was_condemned(house: House, api: dict[str, Api]) -> None:
    walk, other = Walk(house, api), house.item("second_stage", "TH-2")
    due(house, walk.item)
    due(house, other)
    ok(walk.sign(outcome="condemned", words="The seat bore is scored."), 201)
    ok(walk.hand_back(acknowledged=True), 201)

    remind("2030-06-01")

    assert other.label in text_of(Letter.objects.get())
    assert walk.item.label not in text_of(Letter.objects.get())


@pytest.mark.parametrize(
    "address", ["maja@bücher.example", "maja@lindqvist.example\nBcc: all@ferrier.example"]
)
def test_it_goes_on_past_a_customer_whose_address_cannot_be_written_to(house: House, address: str) -> None:
    other = add_customer(
        by=house.people["counter"], kind="person", name="Tomas Ferrier", email="tomas@ferrier.example",
        phone="", reminders=True,
    )  # fmt: skip
    first, second = house.item(), house.item(serial="R-2")
    Item.objects.filter(pk=second.pk).update(owner=other)
    Customer.objects.filter(pk=house.customer.pk).update(email=address)
    due(house, first)
    due(house, second)

    remind("2030-06-01")

    assert Letter.objects.get(address="tomas@ferrier.example").state == "sent"


def test_it_logs_a_letter_that_could_not_be_written_and_writes_it_once_the_address_is_mended(
    house: House, caplog: pytest.LogCaptureFixture
) -> None:
    due(house, house.item())
    Customer.objects.update(email="maja@lindqvist.example\nBcc: all@ferrier.example")

    assert remind("2030-06-01") == "0 letters written, 0 sent."
    assert not Letter.objects.exists()
    assert Reminder.objects.get().letter is None
    assert "No letter could be written to K-0001." in caplog.text

    Customer.objects.update(email="maja@lindqvist.example")
    assert remind("2030-06-01") == "1 letters written, 1 sent."


def test_it_is_silent_for_gear_that_was_condemned_under_another_number(
    house: House, api: dict[str, Api]
) -> None:
    lost, kept = Walk(house, api), house.item(serial="TH-9")
    ok(lost.sign(outcome="condemned", words="Cracked body.", second=None, second_secret=""), 201)
    ok(lost.hand_back(acknowledged=True), 201)
    due(house, kept)
    assert [clock.item for _, clocks in owed(DUE) for clock in clocks] == [kept]

    lost.item.refresh_from_db()
    ok(api["counter"].post(f"items/{lost.item.uid}/merge", {"into": str(kept.uid)}, seen=lost.item.version))

    assert list(owed(DUE)) == []
