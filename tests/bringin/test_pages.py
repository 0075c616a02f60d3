"""A lead brings customers, items and past services in by the pages, and takes them back."""

from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from jobs.batches.models import Batch, Brought, Upload
from jobs.bringin.actions import go_on
from jobs.bringin.tasks import sweep
from jobs.reminders.models import Reminder
from shop.clocks.actions import decide
from shop.clocks.models import Clock, Restart
from shop.clocks.rules import Decision
from shop.customers.models import Customer
from shop.gear.models import Item
from shop.intervals.actions import propose
from shop.journal.models import Entry
from shop.search.models import Findable
from shop.workshop.reads import now
from shop.workshop.rules import Kind
from tests.conftest import House
from tests.guards.clock_entries import RULE
from tests.rows import hidden, said, send

CUSTOMERS = "Id,Name,E-mail,Phone,Type\n7,Siân O'Neill,sian@example.org,+44 1632 960417,person\n8,נועה,noa@example.org,,\n"
ITEMS = "Id,Owner email,Customer no,Maker,Model,Kind,Serial,Mark\n1,,7,Tarnwell,Hesk,first stage,S-1,AFS\n2,NOA@example.org,,Other,New,BCD,,\n"
SERVICES = "Item id,Service,Date,Months\n1,Overhaul,2024-05-31,\n1,Overhaul,2022-05-31,24\n2,Bladder check,2025-01-02,12\n"


def sent(client: Client, what: str, text: str, name: str = "a.csv") -> Batch:
    """A file that was sent by the page; its dry run is not done yet."""
    page = client.get("/office/bring-in/new")
    carried = {each["name"]: each["value"] for each in page.context["form"].hidden}
    answer = client.post(
        "/office/bring-in/new", carried | {"what": what, "file": SimpleUploadedFile(name, text.encode())}
    )
    assert answer.status_code == 302, answer.content
    uid = answer["Location"].removeprefix("/office/bring-in/").partition("/")[0]
    return Batch.objects.get(uid=uid)


def checked(client: Client, what: str, text: str, **columns: str) -> Batch:
    """The same with its dry run done by the worker, with columns as guessed but for those given."""
    batch = sent(client, what, text)
    answer = send(client, f"/office/bring-in/{batch.uid}/columns", batch.mapping | columns)
    assert answer.status_code == 302, answer.content
    sweep()
    return Batch.objects.get(pk=batch.pk)


def brought(client: Client, what: str, text: str, **ticked: str) -> Batch:
    """The same with its rows in."""
    batch = checked(client, what, text)
    answer = send(client, f"/office/bring-in/{batch.uid}/begin", ticked)
    assert answer.status_code == 302, answer.content
    sweep()
    return Batch.objects.get(pk=batch.pk)


@pytest.fixture
def lead(house: House, pages: dict[str, Client]) -> Client:
    return pages["lead"]


def test_it_works(lead: Client, house: House) -> None:
    first = brought(lead, "customers", CUSTOMERS)
    items = brought(lead, "items", ITEMS)
    services = brought(lead, "services", SERVICES)

    assert [(b.state, b.rows, b.made, b.bad) for b in (first, items, services)] == [
        ("brought in", 2, 2, 0), ("brought in", 2, 2, 0), ("brought in", 3, 3, 0),
    ]  # fmt: skip
    sian = Customer.objects.get(name="Siân O'Neill")
    assert (sian.phone, sian.reminders, sian.kind, sian.label) == ("+441632960417", False, "person", "K-0002")
    one, two = Item.objects.order_by("number")
    assert (one.owner, one.model, one.marks) == (
        sian,
        house.models["first_stage"],
        "serial S-1, owner's mark AFS",
    )
    assert (two.owner.name, str(two.model), two.marks) == ("נועה", "Other New", "serial unreadable")
    clock = Clock.objects.get(item=one)
    assert (clock.key, clock.anchor, clock.months) == (
        house.plans["first_stage"].plan.clock_key,
        date(2024, 5, 31),
        12,
    )
    assert list(Restart.objects.filter(clock=clock).order_by("pk").values_list("anchor", "cause")) == [
        (date(2022, 5, 31), f"batch:{services.uid}:line 3"), (date(2024, 5, 31), f"batch:{services.uid}:line 2"),
    ]  # fmt: skip
    assert not Upload.objects.exists()
    assert "K-0002" in said(lead.get("/find?q=sian+neill"), 200)
    assert "brought in" in said(lead.get(f"/customers/{sian.uid}/history"), 200)
    assert Entry.objects.filter(subject__startswith="batch:").count() == 3


def test_it_shows_progress_and_leads_on(lead: Client) -> None:
    batch = sent(lead, "customers", CUSTOMERS)
    send(lead, f"/office/bring-in/{batch.uid}/columns", batch.mapping)

    waiting = said(lead.get(f"/office/bring-in/{batch.uid}"), 200)
    sweep()
    done = said(lead.get(f"/office/bring-in/{batch.uid}"), 200)

    assert "<progress" in waiting
    assert "progress.js" in waiting
    assert "<progress" not in done
    assert "2 rows: 2 good, 0 bad" in done
    assert "Bring the rows in" in done


def test_it_lists_bad_rows_and_brings_the_good_ones_in_only_when_asked(lead: Client) -> None:
    batch = checked(lead, "customers", CUSTOMERS + "9,,nobody,12,\n,Sam,SIAN@example.org,,\n")
    page = said(lead.get(f"/office/bring-in/{batch.uid}"), 200)

    assert [(f.line, f.column, f.bad) for f in batch.findings.order_by("pk")] == [
        (4, "Name", True), (4, "E-mail", True), (4, "Phone", True), (5, "E-mail", False),
    ]  # fmt: skip
    assert (batch.bad, batch.alike) == (1, 1)
    assert "That is no phone number of +44." in page
    assert "The same email as line 2." in page
    refused = send(lead, f"/office/bring-in/{batch.uid}/begin", {})
    assert "1 rows are bad, so nothing was brought in." in said(refused)
    assert Customer.objects.count() == 1
    assert send(lead, f"/office/bring-in/{batch.uid}/begin", {"good_rows": "true"}).status_code == 302
    sweep()
    assert Customer.objects.count() == 4


def test_it_reads_where_they_live_and_says_what_it_leaves_out(lead: Client) -> None:
    batch = checked(lead, "customers", 'Name,Adresse,Schuhgröße,Notiz\nAda,"Quay 4\nSkerrin",41,x\n')

    page = said(lead.get(f"/office/bring-in/{batch.uid}"), 200)
    assert "<bdi>Adresse</bdi> is postal" in page
    assert "Left out: <bdi>Schuhgröße</bdi>, <bdi>Notiz</bdi>" in page
    send(lead, f"/office/bring-in/{batch.uid}/begin", {})
    sweep()

    assert Customer.objects.get(name="Ada").postal == "Quay 4\nSkerrin"


def test_it_lets_columns_be_put_right(lead: Client) -> None:
    text = "Wer,Mail,Zweite Mail\nAda,a@example.org,b@example.org\n"
    batch = sent(lead, "customers", text)
    path = f"/office/bring-in/{batch.uid}/columns"

    assert batch.mapping == {"email": "Mail"}
    assert "This field is required." in said(send(lead, path, {"email": "Mail"}), 400)
    assert "The file has no column Nobody." in said(send(lead, path, {"name": "Nobody"}))
    send(lead, path, {"name": "Wer", "email": "Zweite Mail"})
    sweep()
    send(lead, f"/office/bring-in/{batch.uid}/begin", {})
    sweep()
    assert Customer.objects.get(name="Ada").email == "b@example.org"


def test_it_doubles_nothing_when_the_same_comes_again(lead: Client) -> None:
    first = brought(lead, "customers", CUSTOMERS)

    assert sent(lead, "customers", CUSTOMERS, "other name.csv") == first
    more = checked(lead, "customers", CUSTOMERS + "9,Bo,,,\n")
    assert [(f.line, f.said) for f in more.findings.filter(bad=True)] == [
        (2, "It was brought in before, in line 2 of a.csv."), (3, "It was brought in before, in line 3 of a.csv."),
    ]  # fmt: skip


def test_it_says_what_a_row_names_that_is_not_there(lead: Client, house: House) -> None:
    house.item(serial="twice")
    house.item(serial="twice")
    rows = "K-0001,,A,B,first stage,\nK-0099,,A,B,first stage,\n,77,A,B,first stage,\n,,A,B,first stage,\nno@example.org,,A,B,snorkel,\n"
    items = checked(lead, "items", "Owner,Customer no,Maker,Model,Kind,Serial\n" + rows)
    days = "twice,Tarnwell,Check,2024-01-01,12\nonce,Tarnwell,Check,2024-01-01,12\n,,Check,2199-01-01,12\n"
    services = checked(lead, "services", "Serial,Maker,Service,Date,Months\n" + days)

    assert [(f.line, f.said) for f in items.findings.filter(bad=True).order_by("line")] == [
        (3, "There is no customer K-0099."), (4, "No customer with this key was brought in."),
        (5, "No customer with this key was brought in."),
        (6, f"Write one of: {', '.join(kind.label for kind in Kind)}."),
    ]  # fmt: skip
    assert [(f.line, f.said) for f in services.findings.order_by("line")] == [
        (2, "Several items have it: E-00001, E-00002."), (3, "No item of this maker has this serial."),
        (4, "It names no item."),
    ]  # fmt: skip


def test_it_keeps_what_a_clock_knows_better(lead: Client, house: House) -> None:
    item = house.item()
    head = "Item,Service,Date,Months\n"
    brought(lead, "services", head + f"{item.label},Check,2024-01-01,12\n")
    late = brought(lead, "services", head + f"{item.label},Check,2020-01-01,12\n")

    assert (Clock.objects.get().anchor, late.made) == (date(2024, 1, 1), 1)
    assert Brought.objects.get(batch=late).restart is None


def test_it_undoes_a_whole_batch(lead: Client) -> None:
    before = Findable.objects.count()
    batch = brought(lead, "customers", CUSTOMERS)
    answer = send(lead, f"/office/bring-in/{batch.uid}/undo", {})

    assert answer.status_code == 302
    assert Customer.objects.count() == 1
    assert Findable.objects.count() == before
    assert Batch.objects.get().state == "undone"
    assert "This batch is undone already." in said(send(lead, f"/office/bring-in/{batch.uid}/undo", {}))
    again = brought(lead, "customers", CUSTOMERS)
    assert (again.made, Customer.objects.latest("pk").number) == (2, 5)


def test_it_undoes_nothing_that_something_refers_to(lead: Client, pages: dict[str, Client]) -> None:
    first = brought(lead, "customers", CUSTOMERS)
    items = brought(lead, "items", ITEMS)
    noa = Customer.objects.get(email="noa@example.org")
    path = f"/office/bring-in/{first.uid}/undo"

    assert "K-0002 cannot be taken back: item refers to it." in said(send(lead, path, {}))
    assert send(lead, f"/office/bring-in/{items.uid}/undo", {}).status_code == 302
    changed: Any = {"kind": "person", "name": "Noa", "email": noa.email, "phone": "", "reminders": "true"}
    assert send(pages["counter"], f"/customers/{noa.uid}/change", changed).status_code == 302
    refused = said(send(lead, path, {}))
    assert "K-0003 cannot be taken back: a later change refers to it." in refused
    assert "K-0002" not in refused
    assert Customer.objects.count() == 3


def test_it_undoes_items_with_the_clocks_that_a_rule_set_going(lead: Client, house: House) -> None:
    by = house.people["lead"]
    rule = propose(by=by, **RULE)
    decide(by=by, interval=rule, what=Decision.FORCE, seen=1)
    brought(lead, "customers", CUSTOMERS)
    items = brought(lead, "items", ITEMS)
    assert Clock.objects.filter(interval=rule).count() == items.made
    day = date(2026, 1, 1)
    about = Reminder.objects.create(clock=Clock.objects.latest("pk"), due=day, rung=0, run=day, at=now())

    held = said(send(lead, f"/office/bring-in/{items.uid}/undo", {}))
    assert f"{about.clock.item.label} cannot be taken back: clock refers to it." in held
    about.delete()
    assert send(lead, f"/office/bring-in/{items.uid}/undo", {}).status_code == 302

    assert not Clock.objects.exists()


def test_it_puts_clocks_back(lead: Client, house: House) -> None:
    item = house.item()
    head = "Item,Service,Date,Months\n"
    first = brought(lead, "services", head + f"{item.label},Check,2020-01-01,12\n")
    second = brought(
        lead, "services", head + f"{item.label},Check,2023-01-01,24\n{item.label},Check,2022-01-01,6\n"
    )

    held = said(send(lead, f"/office/bring-in/{first.uid}/undo", {}))
    assert "Check of E-00001 cannot be taken back: it was restarted or written about since." in held
    send(lead, f"/office/bring-in/{second.uid}/undo", {})
    clock = Clock.objects.get()
    told: Any = {"due": clock.due, "rung": 0, "run": clock.due, "at": now(), "letter": uuid4()}
    Reminder.objects.create(clock=clock, **told)
    assert "written about since." in said(send(lead, f"/office/bring-in/{first.uid}/undo", {}))
    Reminder.objects.update(letter=None)  # nobody was told
    assert (clock.anchor, clock.months) == (date(2020, 1, 1), 12)
    send(lead, f"/office/bring-in/{first.uid}/undo", {})
    assert Clock.objects.get().due is None


def test_it_goes_on_after_a_cut(lead: Client) -> None:
    rows = "".join(f"Diver {n}\n" for n in range(1100))
    batch = checked(lead, "customers", "Name\n" + rows)
    send(lead, f"/office/bring-in/{batch.uid}/begin", {})

    counts = []
    for _ in range(4):
        go_on(batch, seconds=0.0)
        counts.append(Customer.objects.count() - 1)

    assert counts == [500, 1000, 1100, 1100]
    assert Batch.objects.get().state == "brought in"


def test_it_says_that_a_file_cannot_be_read(lead: Client) -> None:
    page = lead.get("/office/bring-in/new")
    carried = {"once": hidden(page, "once"), "what": "customers"}
    answer = lead.post("/office/bring-in/new", carried | {"file": SimpleUploadedFile("a.csv", b"A,A\n1,2\n")})

    assert "More than one column is named A. Rename them." in said(answer)
