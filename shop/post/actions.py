"""Write a letter into the outbox; send what waits there. The only sender of mail.

The promise under the tested faults: written once, never lost, at most two identical copies.
"""

import os
import smtplib
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

from django.conf import settings
from django.db import transaction
from django.db.models import Q
from django.db.models.functions import Now

from shop.post.models import Letter
from shop.post.rules import LEASE, Purpose, State, after, header_text, refused, wait
from shop.workshop.actions import failpoint
from shop.workshop.reads import now


@dataclass(frozen=True)
class Attached:
    """A file that goes with a letter."""

    name: str
    media_type: str
    content: bytes


@dataclass(frozen=True)
class Draft:
    """A letter to be written: once to a recipient for a purpose and run."""

    recipient: str
    address: str
    purpose: Purpose
    run: str
    subject: str
    text: str
    files: Sequence[Attached] = ()
    uid: UUID = field(default_factory=uuid4)


def write_letter(
    *, recipient: str, address: str, purpose: Purpose, run: str, subject: str, text: str
) -> Letter | None:
    """Put one letter into the outbox in the caller's transaction; None when this run wrote it before."""
    return write_letters(drafts=[Draft(recipient, address, purpose, run, subject, text)])[0]


def write_letters(*, drafts: Sequence[Draft]) -> list[Letter | None]:
    """The same of several letters, in their order."""
    letters = [_letter(draft) for draft in drafts]
    Letter.objects.bulk_create(letters, ignore_conflicts=True)
    written = Letter.objects.defer("body").in_bulk([each.uid for each in letters], field_name="uid")
    return [written.get(each.uid) for each in letters]


def _letter(draft: Draft) -> Letter:
    uid, written = draft.uid, now()
    message_id = f"<{uid}@{settings.MAIL_FROM.rpartition('@')[2]}>"
    message = EmailMessage(policy=SMTP)
    message["From"], message["To"] = settings.MAIL_FROM, draft.address
    message["Subject"] = header_text(draft.subject)
    message["Date"], message["Message-ID"] = format_datetime(written), message_id
    message["Auto-Submitted"] = "auto-generated"
    message.set_content(draft.text)
    for each in draft.files:
        kind, _, subtype = each.media_type.partition("/")
        message.add_attachment(each.content, maintype=kind, subtype=subtype, filename=each.name)
    return Letter(
        uid=uid,
        recipient=draft.recipient,
        address=draft.address,
        purpose=draft.purpose,
        run=draft.run,
        subject=draft.subject,
        message_id=message_id,
        body=message.as_bytes(),
        due_at=Now(),
        written_at=written,
    )


def empty_letters(*, recipient: str) -> int:
    """Empty all letters to whoever is erased, in the caller's transaction; how many. What waited is sent no more.

    The caller has made sure that none is being sent.
    """
    rows = Letter.objects.filter(recipient=recipient)
    rows.filter(state__in=(State.NEW, State.RETRY)).update(state=State.SUPPRESSED)
    count = rows.exclude(body=b"").update(address="", subject="", body=b"", error="")
    transaction.on_commit(unlink_emptied)
    return count


def unlink_emptied() -> int:
    """Unlink the files of letters that were emptied, where letters go into a folder; how many. A sweep calls it too."""
    there = {path.stem: path for path in settings.LETTERS.glob("*.eml")} if settings.LETTERS.exists() else {}
    named = {uid: path for name, path in there.items() if (uid := _uid(name))}
    emptied = Letter.objects.filter(uid__in=named, body=b"").values_list("uid", flat=True)
    for uid in emptied:
        named[uid].unlink(missing_ok=True)
    return len(emptied)


def _uid(name: str) -> UUID | None:
    try:
        return UUID(name)
    except ValueError:
        return None


def send_waiting(limit: int = 500) -> int:
    """Send what is due, one letter at a time; how many went out. Holds no transaction while it sends."""
    free_stuck()
    return sum(send(letter) for letter in _take(limit))


def free_stuck() -> None:
    """Letters whose worker died: taken ones wait again; one found while sending may be sent once more, then rests."""
    Letter.objects.filter(state=State.TAKEN, due_at__lt=Now()).update(state=State.NEW)
    sending = Letter.objects.filter(state=State.SENDING, due_at__lt=Now())
    sending.filter(uncertain_before=True).update(state=State.UNCERTAIN)
    sending.filter(uncertain_before=False).update(state=State.RETRY, uncertain_before=True)


def _take(limit: int) -> Iterator[Letter]:
    """Letters that this caller alone has taken; the lease runs on the database's clock."""
    waiting = Q(state__in=[State.NEW, State.RETRY], due_at__lte=Now())
    for pk in list(
        Letter.objects.filter(waiting).order_by("due_at", "pk").values_list("pk", flat=True)[:limit]
    ):
        if Letter.objects.filter(waiting, pk=pk).update(state=State.TAKEN, due_at=Now() + LEASE):
            yield Letter.objects.get(pk=pk)


def send(letter: Letter) -> bool:
    """Send one taken letter and write down what became of it; True when it went out.

    The attempt's number fences: who comes back after its lease ran out changes nothing that a later sender wrote.
    """
    mine = Letter.objects.filter(pk=letter.pk, state=State.TAKEN, attempts=letter.attempts)
    attempt = letter.attempts + 1
    if not mine.update(state=State.SENDING, attempts=attempt, due_at=Now() + LEASE):
        return False
    failpoint("before-letter")
    outcome, why = _attempt(letter)
    failpoint("after-letter")
    sending = Letter.objects.filter(pk=letter.pk, state=State.SENDING, attempts=attempt)
    if outcome is State.SENT:
        return bool(sending.update(state=State.SENT, sent_at=now(), error=""))
    sending.update(
        state=after(outcome, attempt, letter.uncertain_before),
        uncertain_before=letter.uncertain_before or outcome is State.UNCERTAIN,
        due_at=Now() + wait(attempt),
        error=why[:300],
    )
    return False


class _Unanswered(Exception):
    """DATA had begun and no reply came that says whether the server took the letter."""


class _Server(smtplib.SMTP):
    """Tells a letter that the server may have taken from one that it has not."""

    def data(self, msg: Any) -> tuple[int, bytes]:
        """Raises _Unanswered; any 2xx at the end counts as 250 (RFC 5321, 4.2.1: the first digit decides)."""
        try:
            code, words = super().data(msg)
        except smtplib.SMTPDataError:  # refused before any of the letter went over
            raise
        except OSError as error:
            raise _Unanswered(str(error)) from error
        if code // 100 not in (2, 4, 5):
            raise _Unanswered(f"{code} {words!r}")
        return (250 if code // 100 == 2 else code), words

    def __exit__(self, *raised: Any) -> None:
        with suppress(OSError):  # whatever the server says to QUIT, the letter's fate is known by then
            super().__exit__(*raised)


def _attempt(letter: Letter) -> tuple[State, str]:
    """Try once: SENT, FAILED, RETRY, or UNCERTAIN when the server may have it; and why."""
    try:
        _deliver(letter)
    except _Unanswered as error:
        return State.UNCERTAIN, str(error)
    except smtplib.SMTPDataError as error:
        return refused(error.smtp_code), f"{error.smtp_code} {error.smtp_error!r}"
    except smtplib.SMTPRecipientsRefused as error:
        code, words = error.recipients[letter.address]
        return refused(code), f"{code} {words!r}"
    except UnicodeError:
        return State.FAILED, "The mail server takes addresses in ASCII only."
    except OSError as error:  # smtplib's own are among them
        return State.RETRY, str(error)
    return State.SENT, ""


def _deliver(letter: Letter) -> None:
    """Hand the stored bytes to the SMTP server, or write them as one file in the letters folder."""
    if settings.SMTP is None:
        _to_folder(settings.LETTERS, f"{letter.uid}.eml", bytes(letter.body))
        return
    with _Server(settings.SMTP.hostname, settings.SMTP.port or 25, timeout=15) as server:
        server.sendmail(settings.MAIL_FROM, [letter.address], bytes(letter.body))


def _to_folder(folder: Path, name: str, body: bytes) -> None:
    """Write a file whole or not at all; a second copy replaces the first."""
    folder.mkdir(parents=True, exist_ok=True)
    part = folder / f".{name}.part"
    with part.open("wb") as file:
        file.write(body)
        file.flush()
        os.fsync(file.fileno())
    part.rename(folder / name)
