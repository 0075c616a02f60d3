"""A customer of whom everything is known is erased: nothing personal is left in a dump, the safety record is."""

import hashlib
import json
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction
from django.test import Client

from jobs.answers.actions import say_elsewhere, say_gone
from jobs.bookings.models import Booking
from jobs.evidence.actions import take_evidence_out
from jobs.evidence.reads import faults_of
from jobs.flow.models import DropOff, Hold, Job
from jobs.reminders.actions import remind
from jobs.rights.actions import ask_erasure, close_erasure, erase, sweep
from jobs.rights.models import Erasure
from jobs.signoff.models import SignOff
from jobs.signoff.reads import signed_record
from shop.backup.actions import FILES
from shop.clocks.models import Clock
from shop.customers.actions import add_customer, change_customer
from shop.customers.models import Customer
from shop.files.actions import keep_photograph
from shop.files.models import File, Gone, Photograph
from shop.files.reads import re_encoded
from shop.files.rules import place
from shop.gear.actions import change_owner
from shop.gear.models import Identifier, Item
from shop.journal.models import Entry
from shop.journal.reads import faults
from shop.links.actions import make_links
from shop.links.models import Link
from shop.links.reads import living
from shop.links.rules import LinkFor, Wanted
from shop.outbox.actions import suppress_address
from shop.post.actions import write_letter
from shop.post.models import Letter, Suppressed
from shop.post.rules import Purpose
from shop.search.models import Findable
from shop.signing.reads import known_keys
from shop.signing.rules import checked
from shop.workshop.reads import today
from shop.workshop.rules import Refused, add_months
from tests.conftest import SECRET, Api, House, clients, housed, staffed
from tests.lending.made import lent, our_item
from tests.photographs import encoded
from tests.rights.made import (
    ALSO,
    GONE,
    HUSBAND,
    MARK,
    NAME,
    STREET,
    everything,
    holding,
    spelled,
    whole_dump,
)
from tests.rows import codes, nothing_changes
from tests.walk import EVIDENCE, Walk, ok


@pytest.fixture(autouse=True)
def folders(settings: Any, tmp_path: Path) -> Path:
    """Letters and files go into folders of the test's own."""
    settings.SMTP, settings.LETTERS, settings.FILES = None, tmp_path / "letters", tmp_path / "files"
    return tmp_path


def erased(house: House, api: dict[str, Api], hers: Customer, also: str = ALSO) -> Any:
    """She asks, and two people erase her, over the API."""
    asked = ok(api["lead"].post(f"customers/{hers.uid}/erasures", {"reason": f"{NAME} rang."}), 201)
    assert asked["deadline"] == str(add_months(today(), 1))
    second = {"second": str(house.people["counter"].uid), "second_secret": SECRET}
    return api["lead"].post(f"erasures/{asked['uid']}/erase", second | {"also": also})


def on_disk(folder: Path) -> bytes:
    """All bytes below a folder, names too."""
    paths = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    return b"".join(path.name.encode() + path.read_bytes() for path in paths)


@pytest.mark.django_db(transaction=True)
def test_it_works(folders: Path) -> None:
    house = housed(staffed())
    api = clients(house.people)
    hers = everything(house, api)
    assert {text for _, text in holding()} == set(GONE)  # the test knows where to look
    assert _left_in_a_dump(folders) == GONE
    job, signed = Job.objects.get(line__drop_off__customer=hers), SignOff.objects.get()
    record, digest, serial = json.loads(signed.record), signed.digest, "S-first_stage"
    work = Photograph.objects.get(subject__startswith="job:")
    evidence = Photograph.objects.get(subject__startswith="evidence:")
    # Five photographs, two proofs, a letter.
    assert sum(1 for path in folders.rglob("*") if path.is_file()) == 8

    answer = ok(erased(house, api, hers))

    assert answer["state"] == "erased"
    assert holding() == set()
    assert _left_in_a_dump(folders) == []
    row = Customer.objects.get(pk=hers.pk)
    assert (row.name, row.email, row.phone, row.postal) == (f"Erased customer {hers.label}", "", "", "")
    assert list(faults()) == []
    # Files of what was brought are gone, photographs of the work and of evidence stay without their words; letters are gone.
    kept = {place(each.file.sha256)[1] for each in (work, evidence)}
    assert {each.name for each in folders.rglob("*") if each.is_file()} == kept
    assert {each.words for each in Photograph.objects.filter(pk__in=[work.pk, evidence.pk])} == {"(erased)"}
    assert not any(text.encode() in on_disk(folders) for text in GONE)
    # The safety record: serial, figures, who did it and who signed; the digest as it was signed, and a twin that is signed too.
    closed = SignOff.objects.get().closed
    left = json.loads(closed.record)
    assert (SignOff.objects.get().digest, left["erased"]["twin_of"]) == (digest, digest)
    assert [mark["value"] for mark in left["item"]["marks"]] == [serial]
    assert left["tests"] == record["tests"]
    assert left["parts"] == record["parts"]
    assert left["signed"] == record["signed"]
    found = checked(signed_record(signed.uid).encode(), known_keys())
    assert found.digest == closed.digest == hashlib.sha256(closed.record.encode()).hexdigest()
    assert Entry.objects.get(verb="record erased", subject=f"job:{job.uid}")
    # No letter any more: neither the one that waited, nor another.
    letters = Letter.objects.filter(recipient=str(hers.uid))
    assert sorted(set(letters.values_list("state", flat=True))) == ["sent", "suppressed"]
    _nothing_opens(house, api, hers)
    Clock.objects.filter(item__owner=hers).update(due=today())
    assert remind(on=today()) == 0
    assert Findable.objects.get(subject=f"customer:{hers.uid}").title == row.name
    # The file of the database itself: what SQLite frees it overwrites, and this writes it anew.
    out = StringIO()
    call_command("unlink_erased", stdout=out)
    assert out.getvalue().startswith("0 files unlinked.")
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        raw = connection.connection.serialize()
        assert b"Erased customer" in raw
        assert [text for text in GONE if text.encode() in raw] == []


def _left_in_a_dump(folder: Path) -> list[str]:
    """What of hers stands in a dump of the whole database by the engine's own program."""
    dumped = whole_dump(folder)
    (folder / "dump.sql").unlink(missing_ok=True)
    return [text for text in GONE if any(each in dumped for each in spelled(text))]


def _nothing_opens(house: House, api: dict[str, Api], hers: Customer) -> None:
    """Links are ended, nothing is booked, no address is suppressed, no letter goes again; her evidence still proves itself."""
    assert not living(hers).exists()
    assert not Booking.objects.filter(customer=hers, cancelled_at=None).exists()
    assert set(Suppressed.objects.values_list("address", "why")) == {("", "")}
    link, clock = Link.objects.filter(customer=hers)[0], Clock.objects.filter(item__owner=hers)[0]
    given: dict[str, Any] = {"day": today(), "elsewhere": NAME, "photograph": None, "document": None}
    with pytest.raises(Refused, match="was erased"):  # whoever opened it before
        say_elsewhere(link=link, clock=clock, **given)
    letter = Letter.objects.filter(recipient=str(hers.uid), state="suppressed")[0]
    assert "erased" in codes(api["lead"].post(f"letters/{letter.uid}/send-again"))
    archive = BytesIO()
    take_evidence_out(by=house.people["lead"], hold=Hold.objects.get(kind="evidence"), file=archive)
    assert faults_of(archive, known_keys()) == []  # type: ignore[arg-type]  # a file that is open does as well


def test_it_is_refused_with_every_reason(house: House, api: dict[str, Api]) -> None:
    walk = Walk(house, api)
    hers = house.customer
    visit = {"customer": str(hers.uid), "promised_on": "2199-01-01", "lines": [{"words": "a bag"}]}
    tag = ok(api["counter"].post("drop-offs", visit), 201)["lines"][0]["tag"]
    other = add_customer(
        by=house.people["counter"], kind="person", name="Bo", email="", phone="", reminders=False
    )
    named = visit | {"customer": str(other.uid), "collector": str(hers.uid)}
    drop_off = ok(api["counter"].post("drop-offs", named), 201)["number"]
    lent(house, our_item(house))
    with transaction.atomic():
        make_links(wanted=[Wanted(hers, LinkFor.ANSWER, uuid4())])
    say_gone(link=Link.objects.get(), item=house.item(serial="gone"), said="sold")
    ok(api["counter"].post(f"items/{walk.item.uid}/evidence", EVIDENCE), 201)
    asked = ok(api["lead"].post(f"customers/{hers.uid}/erasures", {"reason": "By post."}), 201)

    with nothing_changes():
        answer = api["lead"].post(f"erasures/{asked['uid']}/erase", {})

    assert codes(answer) == [
        "open-job", "gear-here", "named-on-a-visit", "on-loan", "answer-waits", "evidence", "two-people",
    ]  # fmt: skip
    said = " ".join(each["detail"] for each in answer.json()["errors"])
    assert f"Tray {walk.row.number}" in said
    assert tag in said
    assert drop_off in said
    told = ok(api["lead"].get(f"customers/{hers.uid}/rights"))
    assert [each["code"] for each in told["in_the_way"]] == codes(answer)[:-1]


def test_it_is_refused_of_gear_that_was_passed_on_and_is_evidence(house: House, api: dict[str, Api]) -> None:
    walk, hers = Walk(house, api).to("handed_back"), house.customer
    given: dict[str, Any] = {"email": "", "phone": "", "reminders": False}
    other = add_customer(by=house.people["counter"], kind="person", name="Bo Ferran", **given)
    Item.objects.filter(pk=walk.item.pk).update(owner=other)
    ok(api["counter"].post(f"items/{walk.item.uid}/evidence", EVIDENCE), 201)
    asked = ok(api["lead"].post(f"customers/{hers.uid}/erasures", {"reason": "By post."}), 201)

    with nothing_changes():
        answer = api["lead"].post(f"erasures/{asked['uid']}/erase", {})

    assert codes(answer) == ["evidence", "two-people"]


def test_it_takes_two_people_and_the_right_secret(house: House, api: dict[str, Api]) -> None:
    asked = ok(api["lead"].post(f"customers/{house.customer.uid}/erasures", {"reason": "By post."}), 201)
    path, people = f"erasures/{asked['uid']}/erase", house.people

    alone = {"second": str(people["lead"].uid), "second_secret": SECRET}
    assert codes(api["lead"].post(path, alone)) == ["two-people"]
    wrong = {"second": str(people["counter"].uid), "second_secret": "a guess"}
    assert codes(api["lead"].post(path, wrong)) == ["wrong-secret"]
    for role in ("counter", "technician", "inspector", "storekeeper"):
        assert api[role].post(path, wrong | {"second_secret": SECRET}).status_code == 403
    assert Customer.objects.get().name == "Maja Lindqvist"


def test_it_is_done_once_and_nothing_new_is_written(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    hers, lead, counter = house.customer, house.people["lead"], house.people["counter"]
    visited = DropOff.objects.get(pk=Walk(house, api).to("handed_back").row.drop_off_id)
    blank = pages["lead"].get(f"/customers/{hers.uid}/erasures/new").content.decode()
    assert f'value="{today().isoformat()}"' in blank  # as a control of the browser takes a day
    asked: Any = {"customer": hers, "reason": "By post.", "asked_on": today()}
    row = ask_erasure(by=lead, **asked)
    with pytest.raises(Refused) as twice:
        ask_erasure(by=lead, **asked)
    assert [r.code for r in twice.value.refusals] == ["asked"]
    given: Any = {"erasure": row, "second": counter, "second_secret": SECRET}
    erase(by=lead, **given)

    with nothing_changes():
        with pytest.raises(Refused) as ended:
            erase(by=lead, **given)
        assert [r.code for r in ended.value.refusals] == ["ended"]
        with pytest.raises(Refused) as ended:
            close_erasure(by=lead, erasure=row, why="x")
        assert [r.code for r in ended.value.refusals] == ["ended"]
        visit = {"customer": str(hers.uid), "promised_on": "2199-01-01", "lines": [{"words": "a bag"}]}
        assert "erased" in codes(api["counter"].post("drop-offs", visit))
        line = {"owner": str(hers.uid), "model": str(house.models["first_stage"].uid), "serial": "TH-9"}
        assert codes(api["counter"].post("items", line)) == ["erased"]
        said_so = {"amount": "95.00", "given_by": NAME, "how": "in person"}
        accepted = {"terms": 1, "how": "signed on paper", "name": NAME}
        for path, data in (("go-aheads", said_so), ("terms", accepted), ("lines", {"lines": visit["lines"]})):
            seen = DropOff.objects.get(pk=visited.pk).version
            refused = api["counter"].post(f"drop-offs/{visited.uid}/{path}", data, seen=seen)
            assert "erased" in codes(refused), path
        page = pages["counter"].get(f"/customers/{hers.uid}").content.decode()
        assert [each for each in ("New item", "New set", "Book a drop-off", "Check in") if each in page] == []
        for path in (f"customers/{hers.uid}/erasures", f"customers/{hers.uid}/data"):
            assert codes(api["lead"].post(path, {"reason": "x"} if "erasures" in path else {})) == ["erased"]
        with pytest.raises(Refused):
            change_customer(by=counter, customer=hers, seen=Customer.objects.get().version, name=NAME)


def test_it_is_closed_without_erasing(house: House, api: dict[str, Api]) -> None:
    path = f"customers/{house.customer.uid}/erasures"
    tomorrow = {"reason": "By post.", "asked_on": "2199-01-01"}
    assert codes(api["lead"].post(path, tomorrow)) == ["in-the-future"]
    asked = ok(api["lead"].post(path, {"reason": "By post."}), 201)

    closed = ok(api["lead"].post(f"erasures/{asked['uid']}/close", {"why": "Taken back."}))

    assert (closed["state"], closed["closed_why"]) == ("closed", "Taken back.")
    assert Customer.objects.get().erased_at is None
    assert ok(api["lead"].post(path, {"reason": "Again."}), 201)["state"] == "open"


def test_it_takes_those_who_were_merged_in_and_leaves_others(house: House, api: dict[str, Api]) -> None:
    counter, lead = house.people["counter"], house.people["lead"]
    lost = add_customer(by=counter, kind="person", name=NAME, email="t@example.org", phone="", reminders=True)
    ok(api["counter"].post(f"customers/{lost.uid}/merge", {"into": str(house.customer.uid)}, seen=1))
    other = add_customer(by=counter, kind="person", name="Maja Lind", email="", phone="", reminders=True)
    sold = house.item(serial="SOLD-1")
    change_owner(by=counter, item=sold, seen=sold.version, owner=other)
    Identifier.of(sold, Identifier.OWNERS_MARK, MARK).save()
    row = ask_erasure(by=lead, customer=house.customer, reason="By post.", asked_on=today())

    erase(by=lead, erasure=row, second=counter, second_secret=SECRET)

    assert holding([NAME, "Maja Lindqvist", "t@example.org"]) == set()
    assert Customer.objects.get(pk=other.pk).name == "Maja Lind"
    assert Identifier.objects.get(item=sold, kind="owner's mark").value == MARK
    assert list(faults()) == []


def test_a_crash_before_the_files_went_is_swept_up(
    house: House, django_capture_on_commit_callbacks: Any
) -> None:
    """The transaction is committed and the process dies before it unlinks: the beat does it later, and only once."""
    item = house.item(serial="A-1")
    given = {"by": "x", "subject": f"item:{item.uid}", "chain": f"item:{item.uid}", "words": ""}
    kept = keep_photograph(picture=re_encoded(encoded()), **given)
    path = settings.FILES.joinpath(*place(kept.file.sha256))
    row = ask_erasure(by=house.people["lead"], customer=house.customer, reason="By post.", asked_on=today())
    with django_capture_on_commit_callbacks():  # they are never run
        erase(by=house.people["lead"], erasure=row, second=house.people["counter"], second_secret=SECRET)
    assert path.exists()
    with connection.cursor() as cursor:  # a backup made now does not ask for it
        cursor.execute(FILES)
        assert cursor.fetchall() == []

    out = StringIO()
    call_command("unlink_erased", stdout=out) if connection.vendor != "sqlite" else _sweep(out)

    assert out.getvalue().startswith("1 files unlinked.")
    assert not path.exists()
    # The same bytes kept anew, of somebody else's gear: they are there, and no sweep takes them.
    again = keep_photograph(picture=re_encoded(encoded()), **given | {"subject": "item:other"})
    assert _sweep(StringIO()) == 0
    assert path.exists()
    assert again.file_id == kept.file_id
    assert not Gone.objects.exists()
    assert File.objects.count() == 1


def _sweep(out: StringIO) -> int:
    """The sweep alone: SQLite writes no database anew within a transaction."""
    count = sweep()
    out.write(f"{count} files unlinked.")
    return count


def test_the_page_says_what_goes_and_what_stands_in_the_way(
    house: House, api: dict[str, Api], pages: dict[str, Client]
) -> None:
    walk = Walk(house, api)
    Job.objects.filter(pk=walk.row.pk).update(promised_why="Maja Lindqvist asked twice.")
    ask_erasure(by=house.people["lead"], customer=house.customer, reason="By post.", asked_on=today())

    page = pages["lead"].get(f"/customers/{house.customer.uid}/rights").content.decode()

    assert f"Tray {walk.row.number} is not handed back yet: it stands at “" in page
    assert "Jobs, promised why: 1 row" in page
    assert f"{add_months(today(), 1):%-d %b %Y}" in page
    assert "cannot be taken back" not in page
    assert "signed copies" in page
    office = pages["lead"].get("/office").content.decode()
    assert "asks to be erased" in office
    assert "asks to be erased" not in pages["counter"].get("/office").content.decode()
    assert pages["counter"].get(f"/customers/{house.customer.uid}/rights").status_code == 403
    assert Erasure.objects.get().state == "open"
    assert STREET not in page
    assert HUSBAND not in page


def test_a_letter_that_was_erased_says_so_and_its_shared_address_stays_suppressed(
    house: House, pages: dict[str, Client]
) -> None:
    """The address is another customer's too, who still gets no letters there."""
    hers, counter = house.customer, house.people["counter"]
    given: dict[str, Any] = {"kind": "person", "email": hers.email, "phone": "", "reminders": True}
    other = add_customer(by=counter, name="Nils Lindqvist", **given)
    told: dict[str, Any] = {"address": hers.email, "purpose": Purpose.READY, "run": "1", "subject": "Ready"}
    letter = write_letter(recipient=str(hers.uid), text="Come and get it.", **told)
    assert letter is not None
    suppress_address(by=counter, address=hers.email, why="550 5.1.1")
    row = ask_erasure(by=house.people["lead"], customer=hers, reason="By post.", asked_on=today())

    erase(by=house.people["lead"], erasure=row, second=counter, second_secret=SECRET)

    page = pages["lead"].get(f"/office/letters/{letter.uid}").content.decode()
    assert "Erased at the request of its recipient." in page
    assert "Come and get it." not in page
    assert Suppressed.objects.get(lifted_at=None).address == other.email
