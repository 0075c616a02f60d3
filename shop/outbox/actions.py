"""What people and reports do to the outbox: stop a letter, send it again, suppress an address, take in what came back."""

import logging
import re
from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.db import OperationalError, transaction
from django.db.models import Q
from django.utils.crypto import constant_time_compare

from shop.customers.models import Customer
from shop.journal.actions import write
from shop.outbox.reads import suppressed
from shop.outbox.rules import MOST_BYTES, REPORTED_WITHIN, Fate, again_refusals, read_report, stop_refusals
from shop.post.actions import suppress
from shop.post.models import Letter, Suppressed
from shop.post.rules import Purpose, State, folded, header_text
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, Refused

log = logging.getLogger(__name__)
_no_reports: set[Path] = set()  # what lies in the maildir for people


def stop_letter(*, by: Person, letter: Letter) -> Letter:
    """Keep a letter from going that has not gone."""
    require(by, Can.KEEP_LETTERS)
    with transaction.atomic():
        row = _locked(letter)
        if refusals := stop_refusals(State(row.state)):
            raise Refused(refusals)
        return _put(row, State.STOPPED, str(by.uid), "letter stopped")


def send_again(*, by: Person, letter: Letter) -> Letter:
    """Let the same letter go once more that failed, is uncertain or was kept back; it may arrive twice."""
    require(by, Can.KEEP_LETTERS)
    with transaction.atomic():
        wanted = letter.purpose != Purpose.REMINDER or _wants_reminders(letter.recipient)
        row = _locked(letter)
        gone = suppressed().filter(address=folded(row.address)).exists()
        if refusals := again_refusals(State(row.state), gone, wanted):
            raise Refused(refusals)
        row.due_at = now()
        return _put(row, State.NEW, str(by.uid), "letter sent again")


def _wants_reminders(recipient: str) -> bool:
    """Whether a customer, whom this locks so that they cannot change their mind meanwhile, wants reminders."""
    named = Customer.objects.select_related("merged_into").filter(uid=recipient).first()
    return named is not None and Customer.objects.select_for_update().get(pk=named.kept.pk).reminders


def suppress_address(*, by: Person, address: str, why: str) -> Suppressed:
    """Write to an address no more: its owner said so, or a letter on paper came back too."""
    require(by, Can.KEEP_LETTERS)
    row = suppress(address=address, why=why, by=str(by.uid))
    if row is None:
        raise Refused([Refusal("suppressed-already", "This address is suppressed already.", "address")])
    return row


def lift_address(*, by: Person, suppressed: Suppressed) -> Suppressed:
    """Letters may go to an address again; those that rest stay until somebody sends them."""
    require(by, Can.KEEP_LETTERS)
    with transaction.atomic():
        row = Suppressed.objects.select_for_update().get(pk=suppressed.pk)
        if row.lifted_at is not None:
            raise Refused([Refusal("lifted-already", "Letters may go to this address again already.")])
        row.lifted_at = now()
        row.save(update_fields=["lifted_at"])
        write(subject=f"suppressed:{row.uid}", by=str(by.uid), verb="address lifted")
    return row


def take_report(*, raw: bytes, signed: bool = False) -> int:
    """Do what a report says about letters of ours; how many it changed. `signed`: a provider that we know hands it over.

    A letter is known by its Message-ID or envelope, went out lately, and the recipient must be its own. All of that
    anybody knows who saw the letter, so it fails the letter alone: only a report that is signed, or that repeats the
    letter's envelope, suppresses the address. Anything else changes nothing, and nothing is ever answered.
    """
    report, changed = read_report(raw), 0
    if report is None:
        return 0
    ours = Q(message_id__in=report.messages) | Q(uid__in=_uids(report.envelopes))
    for letter in Letter.objects.defer("body").filter(ours).order_by("pk")[:10]:
        if (letter.sent_at or letter.due_at) < now() - REPORTED_WITHIN:
            continue
        proven = signed or any(constant_time_compare(each, letter.envelope) for each in report.envelopes)
        for told in report.told:
            if folded(letter.address) not in told.addresses:
                continue
            if told.fate in (Fate.GONE, Fate.FAILED):
                changed += _came_back(letter, told.why, gone=proven and told.fate is Fate.GONE)
            elif told.fate is Fate.DELAYED:
                changed += _delayed(letter, f"On its way it is delayed: {told.why}")
    return changed


def _came_back(letter: Letter, why: str, gone: bool) -> bool:
    """A letter that had gone was reported undeliverable; `gone`: at an address that takes no mail. False when nothing changed."""
    with transaction.atomic():
        row = _locked(letter)
        if not row.attempts or row.state in (State.FAILED, State.SUPPRESSED, State.STOPPED):
            return False
        row.error = header_text(why)[:300]
        _put(row, State.FAILED, "system", "letter came back")
        if gone:
            suppress(address=row.address, why=why, by="system", letter=row)
    return True


def _delayed(letter: Letter, why: str) -> bool:
    """A server on the way still tries: the letter stays what it is. False when that was known."""
    with transaction.atomic():
        row, said = _locked(letter), header_text(why)[:300]
        if row.state != State.SENT or row.error == said:
            return False
        row.error = said
        _put(row, State.SENT, "system", "letter delayed")
    return True


def _locked(letter: Letter) -> Letter:
    return Letter.objects.select_for_update().defer("body").get(pk=letter.pk)


def _put(row: Letter, state: State, by: str, verb: str) -> Letter:
    """Write down where a locked letter is now. A sender that is at it finds it changed and leaves it."""
    facts = {"from": row.state, "to": state.value}
    row.state = state.value
    row.save(update_fields=["state", "due_at", "error"])
    write(subject=f"letter:{row.uid}", by=by, verb=verb, facts=facts)
    return row


def _uids(envelopes: frozenset[str]) -> list[UUID]:
    """The letters of those envelope ids that could be ours."""
    names = [each.partition(".")[0] for each in envelopes]
    return [UUID(each) for each in names if re.fullmatch(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", each)]


def read_mailbox(limit: int = 200) -> int:
    """Take in the reports that lie in the maildir, oldest first; how many letters they changed.

    A report is put among those read only once it is done, so after a crash it is read again, which changes nothing. One
    that fails is put there flagged, so that the others get their turn. What is no report, such as what people answer to
    a letter, stays where it is, and this process looks at it once.
    """
    if settings.BOUNCES is None:
        return 0
    new, read, changed = settings.BOUNCES / "new", settings.BOUNCES / "cur", 0
    if not new.is_dir():
        return 0
    read.mkdir(exist_ok=True)
    there = {each for each in new.iterdir() if each.is_file()}
    _no_reports.intersection_update(there)
    for path in sorted(there - _no_reports)[:limit]:
        try:
            raw = _start_of(path)
            if read_report(raw) is None:
                _no_reports.add(path)
                continue
            changed += take_report(raw=raw)
        except OperationalError:  # the database is away or busy: the next run reads it
            raise
        except Exception:
            log.exception("%s could not be taken in: it is put aside, flagged.", path.name)
            path.rename(read / f"{path.name}:2,F")
        else:
            path.rename(read / f"{path.name}:2,S")
    return changed


def _start_of(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(MOST_BYTES + 1)
