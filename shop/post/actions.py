"""Write a letter into the outbox; send what waits there. The only sender of mail.

The promise under the tested faults: written once, never lost, at most two identical copies.
"""

import logging
import smtplib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from time import monotonic
from typing import NamedTuple
from uuid import UUID, uuid4

from django.conf import settings
from django.db import connection, transaction
from django.db.models import QuerySet
from django.db.models.functions import Now

from shop.journal.actions import write
from shop.post.models import Letter, Suppressed
from shop.post.rules import (
    AUTOMATIC,
    LEASE,
    NO_SUCH_ADDRESS,
    Purpose,
    State,
    after,
    folded,
    header_text,
    refused,
    wait,
    way_out,
)
from shop.relay.actions import Relay, Unanswered
from shop.workshop.actions import failpoint
from shop.workshop.reads import now

log = logging.getLogger(__name__)
LONGEST_S = 120  # of one batch; the worker stops a task after 180
AT_ONCE = 50  # letters that are taken in one go: so many wait for their lease when a sender dies
# One commit between two letters: the one that went is written down with the next one's beginning. A second copy needs a kill
# between the server's 250 and this, so there is at most one for each kill. The ids come first and alone, or PostgreSQL may look
# for them among all that were ever sending.
BATON = """
    UPDATE post_letter SET
        state = CASE state WHEN 'sending' THEN 'sent' ELSE 'sending' END,
        sent_at = CASE state WHEN 'sending' THEN %s ELSE sent_at END,
        error = CASE state WHEN 'sending' THEN '' ELSE error END,
        attempts = CASE state WHEN 'sending' THEN attempts ELSE attempts + 1 END,
        due_at = {lease}
    WHERE id IN (%s, %s) AND (
        (id = %s AND state = 'sending' AND attempts = %s) OR (id = %s AND state = 'taken' AND attempts = %s)
    )
    RETURNING id
"""
LEASED = {  # Now() + LEASE as text
    "postgresql": f"statement_timestamp() + interval '{LEASE.seconds} seconds'",
    "sqlite": f"strftime('%%Y-%%m-%%d %%H:%%M:%%f', 'now', '+{LEASE.seconds} seconds')",
}


@dataclass(frozen=True)
class Attached:
    """A file that goes with a letter; parameters stand behind its media type, each after "; "."""

    name: str
    media_type: str
    content: bytes


@dataclass(frozen=True)
class Draft:
    """A letter to be written: once to a recipient for a purpose and run.

    `html` says the same as `text`; `unsubscribe` is the address where one press ends such letters.
    """

    recipient: str
    address: str
    purpose: Purpose
    run: str
    subject: str
    text: str
    files: Sequence[Attached] = ()
    html: str = ""
    unsubscribe: str = ""
    uid: UUID = field(default_factory=uuid4)


class _Fate(NamedTuple):
    """What an attempt came to, and why; `gone`: the recipient's address does not exist."""

    state: State
    why: str = ""
    gone: bool = False


def write_letter(
    *, recipient: str, address: str, purpose: Purpose, run: str, subject: str, text: str
) -> Letter | None:
    """Put one letter into the outbox in the caller's transaction; None when this run wrote it before."""
    return write_letters(drafts=[Draft(recipient, address, purpose, run, subject, text)])[0]


def write_letters(*, drafts: Sequence[Draft]) -> list[Letter | None]:
    """The same of several letters, in their order."""
    gone = _standing(folded(draft.address) for draft in drafts)
    letters = [_letter(draft) for draft in drafts]
    for each in letters:
        each.state = State.SUPPRESSED if folded(each.address) in gone else State.NEW
    Letter.objects.bulk_create(letters, ignore_conflicts=True)
    written = Letter.objects.defer("body").in_bulk([each.uid for each in letters], field_name="uid")
    return [written.get(each.uid) for each in letters]


def _standing(addresses: Iterable[str]) -> set[str]:
    """Which of some folded addresses are suppressed."""
    rows = Suppressed.objects.filter(address__in=set(addresses), lifted_at=None)
    return set(rows.values_list("address", flat=True))


def _letter(draft: Draft) -> Letter:
    uid, written = draft.uid, now()
    message_id = f"<{uid}@{settings.MAIL_FROM.rpartition('@')[2]}>"
    message = EmailMessage(policy=SMTP)
    message["From"], message["To"] = settings.MAIL_FROM, draft.address
    message["Subject"] = header_text(draft.subject)
    message["Date"], message["Message-ID"] = format_datetime(written), message_id
    for name, value in AUTOMATIC.items():
        message[name] = value
    message.set_content(draft.text)
    if draft.html:
        message.add_alternative(draft.html, subtype="html")
    for each in draft.files:
        kind, *more = each.media_type.split("; ")
        maintype, subtype = kind.split("/")
        params = dict(part.split("=") for part in more)
        message.add_attachment(
            each.content, maintype=maintype, subtype=subtype, filename=each.name, params=params
        )
    # Written by hand: the library turns an address longer than a line into encoded words, which no reader follows.
    first = "".join(f"{name}: {value}\r\n" for name, value in way_out(draft.unsubscribe).items())
    return Letter(
        uid=uid,
        recipient=draft.recipient,
        address=draft.address,
        purpose=draft.purpose,
        run=draft.run,
        subject=draft.subject,
        message_id=message_id,
        body=first.encode() + message.as_bytes(),
        due_at=Now(),
        written_at=written,
    )


def send_waiting(limit: int = 500) -> int:
    """Send what is due over one connection; how many went out. Holds no transaction while it sends.

    While the server is away one letter in a minute finds out, and nothing else is tried. A slow one is left in time for the
    worker's limit; what was taken and not sent waits for its lease.
    """
    free_stuck()
    sent, went, until = 0, None, monotonic() + LONGEST_S
    with Relay() as relay:
        try:
            for letter in _take(limit):
                if away := relay.away():
                    _not_sent(letter.attempts + 1, letter, _Fate(State.RETRY, away), State.TAKEN)
                    _waiting().update(due_at=Now() + wait(1))
                    break
                relay.announce(letter)  # the server looks at the envelope while the database commits
                counted, begun = _pass_on(went, letter)
                sent, went = sent + counted, letter if begun and _send(letter, relay) else None
                if monotonic() > until:
                    break
        finally:
            sent += _pass_on(went, None)[0]
    return sent


def free_stuck() -> None:
    """Letters whose worker died: taken ones wait again; one found while sending may be sent once more, then rests."""
    Letter.objects.filter(state=State.TAKEN, due_at__lt=Now()).update(state=State.NEW)
    sending = Letter.objects.filter(state=State.SENDING, due_at__lt=Now())
    sending.filter(uncertain_before=True).update(state=State.UNCERTAIN)
    sending.filter(uncertain_before=False).update(state=State.RETRY, uncertain_before=True)


def keep_back(*, recipients: Sequence[str], purpose: Purpose) -> None:
    """Letters of a purpose to these recipients that have not gone do not go; one that is going now is not tried again."""
    rows = Letter.objects.filter(recipient__in=recipients, purpose=purpose)
    rows.filter(state=State.SENDING).update(state=State.UNCERTAIN)
    rows.filter(state__in=[State.NEW, State.TAKEN, State.RETRY]).update(state=State.SUPPRESSED)


def _waiting() -> QuerySet[Letter]:
    return Letter.objects.filter(state__in=[State.NEW, State.RETRY], due_at__lte=Now())


def _take(limit: int) -> Iterator[Letter]:
    """Letters that this caller alone has taken, some at once; the lease runs on the database's clock.

    What is not sent before it runs out, or because its sender died or found nobody, waits again when it has.
    """
    for _ in range(0, limit, AT_ONCE):
        with transaction.atomic():
            rows = _waiting().select_for_update(skip_locked=True).order_by("due_at", "pk")
            rows = rows.only("uid", "address", "body", "attempts", "uncertain_before")
            mine = list(rows[: min(limit, AT_ONCE)])
            taken = Letter.objects.filter(pk__in=[each.pk for each in mine])
            taken.update(state=State.TAKEN, due_at=Now() + LEASE)
        yield from mine
        if len(mine) < AT_ONCE:
            return


def _pass_on(went: Letter | None, letter: Letter | None) -> tuple[bool, bool]:
    """Write down that one letter went and that the next one, taken, begins; for which of them this still held.

    The attempt's number fences: who comes back after its lease ran out changes nothing that a later sender wrote.
    """
    was = (went.pk, went.attempts + 1) if went else (0, 0)
    will = (letter.pk, letter.attempts) if letter else (0, 0)
    if was == will:
        return False, False
    at = connection.ops.adapt_datetimefield_value(now())
    with connection.cursor() as cursor:
        cursor.execute(BATON.format(lease=LEASED[connection.vendor]), [at, was[0], will[0], *was, *will])
        done = {key for (key,) in cursor.fetchall()}
    return was[0] in done, will[0] in done


def _send(letter: Letter, relay: Relay) -> bool:
    """Send one letter that begins; True when it went out, and then the caller writes that down."""
    fate = _attempt(letter, relay)
    failpoint("after-letter")
    if fate.state is State.SENT:
        return True
    _not_sent(letter.attempts + 1, letter, fate, State.SENDING)
    return False


def _not_sent(attempt: int, letter: Letter, fate: _Fate, now_in: State) -> None:
    """Write down that an attempt, counted already or not, sent nothing that anybody knows of."""
    with transaction.atomic():
        still = Letter.objects.filter(
            pk=letter.pk, state=now_in, attempts__in=[letter.attempts, attempt]
        ).update(
            state=after(fate.state, attempt, letter.uncertain_before),
            attempts=attempt,
            uncertain_before=letter.uncertain_before or fate.state is State.UNCERTAIN,
            due_at=Now() + wait(attempt),
            error=fate.why[:300],
        )
        if still and fate.gone:
            suppress(address=letter.address, why=fate.why, by="system", letter=letter)


def suppress(*, address: str, why: str, by: str, letter: Letter | None = None) -> Suppressed | None:
    """Nothing goes to an address any more, and what waits for it rests; None when it stands already."""
    row = Suppressed(address=folded(address), why=header_text(why)[:300], since=now(), letter=letter)
    with transaction.atomic():
        Suppressed.objects.bulk_create([row], ignore_conflicts=True)
        if not Suppressed.objects.filter(uid=row.uid).exists():
            return None
        waiting = Letter.objects.filter(state__in=[State.NEW, State.RETRY], address__iexact=row.address)
        waiting.update(state=State.SUPPRESSED)
        write(
            subject=f"suppressed:{row.uid}",
            by=by,
            verb="address suppressed",
            facts={"letter": str(letter.uid) if letter else ""},
            words={"address": row.address, "why": row.why},
        )
    return Suppressed.objects.get(uid=row.uid)


def _attempt(letter: Letter, relay: Relay) -> _Fate:
    """Try once: SENT, FAILED, RETRY, or UNCERTAIN when the server may have it."""
    try:
        failpoint("before-letter")
        relay.hand_over(letter)
    except Unanswered as error:
        return _Fate(State.UNCERTAIN, str(error))
    except smtplib.SMTPDataError as error:
        return _Fate(refused(error.smtp_code), _said(error.smtp_code, error.smtp_error))
    except smtplib.SMTPRecipientsRefused as error:
        code, words = error.recipients[letter.address]
        gone = code // 100 == 5 and bool(NO_SUCH_ADDRESS.match(words.decode("ascii", "replace")))
        return _Fate(refused(code), _said(code, words), gone)
    except UnicodeError:
        return _Fate(State.FAILED, "The mail server takes addresses in ASCII only.")
    except OSError as error:  # smtplib's own are among them
        return _Fate(State.RETRY, str(error))
    except Exception as error:  # noqa: BLE001 - a letter that nobody can handle must not keep the others
        log.exception("Letter %s could not be handled.", letter.uid)
        return _Fate(State.UNCERTAIN, f"A fault on our side: {type(error).__name__}")
    return _Fate(State.SENT)


def _said(code: int, words: bytes | str) -> str:
    """A reply as people read it."""
    return header_text(f"{code} {words.decode('utf-8', 'replace') if isinstance(words, bytes) else words}")
