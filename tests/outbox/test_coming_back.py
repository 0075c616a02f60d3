"""What came back: a hard bounce suppresses its address, a soft one does not, a forged one changes nothing."""

import json
from datetime import timedelta
from pathlib import Path
from typing import Any
from unittest.mock import Mock

import pytest
from django.db import OperationalError
from rest_framework.test import APIClient

from shop.journal.models import Entry
from shop.outbox.actions import read_mailbox, take_report
from shop.post.actions import send_waiting, write_letter
from shop.post.models import Letter, Suppressed
from shop.post.rules import Purpose
from shop.workshop.reads import now
from tests.outbox.made import MAJA, block, report, signed_headers
from tests.rows import nothing_changes

KEY = b"k" * 32


def write(address: str = MAJA, run: str = "2026-05-01", purpose: Purpose = Purpose.REMINDER) -> Letter:
    row = write_letter(
        recipient="customer-1", address=address, purpose=purpose, run=run, subject="Due", text="Dear Maja"
    )
    assert row is not None
    return row


@pytest.fixture(autouse=True)
def folder(db: None, settings: Any, tmp_path: Path) -> None:
    settings.SMTP, settings.LETTERS = None, tmp_path / "letters"


@pytest.fixture
def sent() -> Letter:
    """A letter that went."""
    row = write()
    assert send_waiting() == 1
    return row


def test_it_works(sent: Letter) -> None:
    waits = write(MAJA.upper(), "2026-05-02")

    assert take_report(raw=report(sent.message_id, envelope=sent.envelope)) == 1

    sent.refresh_from_db()
    waits.refresh_from_db()
    row = Suppressed.objects.get()
    assert (sent.state, sent.error) == ("failed", "5.1.1 without a reason")
    assert (row.address, row.letter, row.lifted_at) == (MAJA, sent, None)
    assert waits.state == "suppressed"
    assert write(run="2026-05-03", purpose=Purpose.SAFETY).state == "suppressed"
    assert write("maja@new.example", "2026-05-04").state == "new"
    assert send_waiting() == 1
    verbs = list(Entry.objects.order_by("pk").values_list("subject", "verb"))
    assert verbs == [
        (f"letter:{sent.uid}", "letter came back"),
        (f"suppressed:{row.uid}", "address suppressed"),
    ]


def test_it_takes_the_same_report_twice(sent: Letter) -> None:
    take_report(raw=report(sent.message_id))

    with nothing_changes():
        assert take_report(raw=report(sent.message_id)) == 0


def test_it_knows_a_letter_by_its_envelope(sent: Letter) -> None:
    """RFC 3464, 2.2.1: the id that we gave with MAIL FROM (RFC 3461, 4.4)."""
    assert take_report(raw=report("<other@elsewhere.example>", envelope=sent.envelope)) == 1
    assert Suppressed.objects.get().letter == sent


@pytest.mark.parametrize("end", ["", ".", "." + "0" * 32, "x"])
def test_it_suppresses_no_address_for_what_anybody_knows_who_saw_the_letter(sent: Letter, end: str) -> None:
    """Its Message-ID and address, and what of its envelope stands in them: the letter fails, no more."""
    assert sent.envelope.encode() not in bytes(sent.body)
    forged = report(sent.message_id, envelope=f"{sent.uid}{end}")

    assert take_report(raw=forged) == 1

    sent.refresh_from_db()
    assert sent.state == "failed"
    assert not Suppressed.objects.exists()


@pytest.mark.parametrize(("days", "changed"), [(13, 1), (15, 0)])
def test_it_takes_no_report_of_a_letter_that_went_long_ago(sent: Letter, days: int, changed: int) -> None:
    Letter.objects.update(sent_at=now() - timedelta(days=days))

    assert take_report(raw=report(sent.message_id, envelope=sent.envelope), signed=True) == changed


@pytest.mark.parametrize("status", ["5.2.2", "5.7.1"])
def test_it_fails_the_letter_alone_when_the_address_may_be_good(sent: Letter, status: str) -> None:
    assert take_report(raw=report(sent.message_id, block(status=status))) == 1

    sent.refresh_from_db()
    assert sent.state == "failed"
    assert not Suppressed.objects.exists()


def test_it_leaves_a_delayed_letter_as_it_is(sent: Letter) -> None:
    raw = report(sent.message_id, block(action="delayed", status="4.4.1"))

    assert (take_report(raw=raw), take_report(raw=raw)) == (1, 0)

    sent.refresh_from_db()
    assert sent.state == "sent"
    assert sent.error == "On its way it is delayed: 4.4.1 without a reason"
    assert send_waiting() == 0


def test_it_looks_at_our_recipient_alone(sent: Letter) -> None:
    with nothing_changes():
        assert take_report(raw=report(sent.message_id, block("somebody@else.example"))) == 0
    mixed = [block("somebody@else.example"), block(action="delayed")]
    assert take_report(raw=report(sent.message_id, *mixed)) == 1
    assert not Suppressed.objects.exists()


def test_it_changes_nothing_for_a_letter_that_nobody_sent() -> None:
    waits = write()

    with nothing_changes():
        assert take_report(raw=report(waits.message_id)) == 0
        assert take_report(raw=report("<made-up@aldermouth.example>", envelope="' OR 1=1")) == 0
        assert take_report(raw=b"nonsense") == 0


@pytest.fixture
def new(settings: Any, tmp_path: Path) -> Path:
    """Where new mail is delivered."""
    settings.BOUNCES = tmp_path / "Maildir"
    assert read_mailbox() == 0
    (settings.BOUNCES / "new").mkdir(parents=True)
    return tmp_path / "Maildir" / "new"


def test_it_reads_a_maildir_and_puts_aside_what_it_has_read(sent: Letter, new: Path) -> None:
    """What people answer stays for people, and keeps no report behind it."""
    (new / "1.huge").write_bytes(b"x" * 600_000)
    (new / "2.answer").write_bytes(b"Subject: Re: Due\r\n\r\nI come on Monday.")
    (new / "3.report").write_bytes(report(sent.message_id, envelope=sent.envelope, headers_only=True))

    assert [read_mailbox(limit=2) for _ in range(3)] == [0, 1, 0]

    assert sorted(each.name for each in new.iterdir()) == ["1.huge", "2.answer"]
    assert [each.name for each in (new.parent / "cur").iterdir()] == ["3.report:2,S"]
    assert Suppressed.objects.get().address == MAJA
    assert Letter.objects.count() == 1, "nothing is ever answered"


def test_it_puts_aside_a_report_that_fails(sent: Letter, new: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (new / "1.bad").write_bytes(report("<bad@aldermouth.example>"))
    (new / "2.good").write_bytes(report(sent.message_id))

    def stumbles(raw: bytes) -> int:
        return take_report(raw=raw) if b"<bad@" not in raw else 1 // 0

    monkeypatch.setattr("shop.outbox.actions.take_report", stumbles)
    assert read_mailbox() == 1
    assert sorted(each.name for each in (new.parent / "cur").iterdir()) == ["1.bad:2,F", "2.good:2,S"]


def test_it_leaves_reports_for_later_while_the_database_is_away(
    new: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (new / "1.report").write_bytes(report("<some@aldermouth.example>"))
    monkeypatch.setattr("shop.outbox.actions.take_report", Mock(side_effect=OperationalError("away")))

    with pytest.raises(OperationalError):
        read_mailbox()

    assert [each.name for each in new.iterdir()] == ["1.report"]


def test_it_takes_a_report_from_a_webhook_that_is_signed(sent: Letter, settings: Any) -> None:
    settings.BOUNCES_SECRET = KEY
    body = json.dumps({"report": report(sent.message_id).decode()}).encode()
    door = APIClient()
    given: dict[str, Any] = {"content_type": "application/json"}

    with nothing_changes():
        for headers in ({}, signed_headers(b"o" * 32, body), signed_headers(KEY, body, at=0)):
            assert door.post("/api/v1/bounces", body, headers=headers, **given).status_code == 403
    answer = door.post("/api/v1/bounces", body, headers=signed_headers(KEY, body), **given)
    again = door.post("/api/v1/bounces", body, headers=signed_headers(KEY, body), **given)

    assert (answer.status_code, answer.json()) == (200, {"letters": 1})
    assert (again.status_code, again.json()) == (200, {"letters": 0})
    assert Suppressed.objects.get().letter == sent


def test_it_lets_nobody_in_without_a_secret(sent: Letter, settings: Any) -> None:
    settings.BOUNCES_SECRET = b""
    body = json.dumps({"report": report(sent.message_id).decode()}).encode()
    headers = signed_headers(b"", body)

    answer = APIClient().post("/api/v1/bounces", body, headers=headers, content_type="application/json")

    assert answer.status_code == 403
