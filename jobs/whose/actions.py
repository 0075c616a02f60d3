"""Give a customer's data out."""

import json
import zipfile
from contextlib import suppress
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from typing import IO, Any

from django.db import connection, transaction

from jobs.whose.reads import Named, keys_of, named, pictures, row_of, theirs, through
from jobs.whose.rules import GIVEN_OUT, HELD, NOTE
from shop.customers.models import Customer
from shop.files.reads import stored
from shop.journal.actions import write
from shop.journal.rules import sha256
from shop.post.models import Letter
from shop.post.rules import WITH_A_LINK, without_secrets
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.reads import now, workshop
from shop.workshop.rules import merged_refusals, refuse


def give_out(*, by: Person, customer: Customer, file: IO[bytes]) -> None:
    """Write everything that is the customer's into an archive, as it stood at one instant."""
    require(by, Can.ANSWER_FOR_RIGHTS)
    alone = not connection.in_atomic_block
    with transaction.atomic():
        if alone and connection.vendor == "postgresql":
            connection.cursor().execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        customer = Customer.objects.select_for_update().get(pk=customer.pk)
        refuse(merged_refusals(customer))
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            facts = _put_data(archive, customer)
        write(subject=f"customer:{customer.uid}", by=str(by.uid), verb=GIVEN_OUT, facts=facts)


def _put_data(archive: zipfile.ZipFile, customer: Customer) -> dict[str, Any]:
    """Write every row that is the customer's into an archive as JSON, with files and letters beside it; what the journal says.

    Rows of others are named by their keys at most.
    """
    keys = keys_of(customer)
    found = named(keys)
    tables = {label: [row_of(row) for row in theirs(label, keys, mentioned=True)] for label in HELD}
    for label in HELD:
        for to, between in through(label):
            rows = between._default_manager.filter(**{f"{to}__in": theirs(label, keys)}).order_by("pk")
            tables[between._meta.label] = [row_of(row) for row in rows]
    tables |= {
        "files.File": [row_of(row) for row in found.files],
        "files.Photograph": [row_of(row) for row in found.photographs],
        "files.Spot": [row_of(row) for row in pictures(keys)[1]],
        "files.Document": [row_of(row) for row in found.documents],
        "post.Letter": [row_of(row) | {"body": None} for row in found.letters],
        "post.Suppressed": [row_of(row) for row in found.suppressed],
        "journal.Entry": [row_of(row) for row in found.entries],
        "journal.Words": [row_of(words) for row in found.entries if (words := getattr(row, "words", None))],
    }
    house = workshop()
    about = {
        "format": 1,
        "note": NOTE,
        "workshop": house.name if house else "",
        "customer": customer.label,
        "at": now().isoformat(timespec="seconds"),
    }
    text = json.dumps(about | {"tables": tables}, indent=1, ensure_ascii=False)
    archive.writestr("data.json", text)
    count = _put_files(archive, found)
    return {"data": sha256(text), "rows": sum(map(len, tables.values())), "files": count}


def _put_files(archive: zipfile.ZipFile, found: Named) -> int:
    """Photographs, documents and letters, each as a file under its uid; how many. What is lost on the disk is left out."""
    shots = [(f"files/{row.uid}.jpg", row.file) for row in found.photographs]
    papers = [(f"files/{row.uid}.pdf", row.file) for row in found.documents]
    count = 0
    for name, file in [*shots, *papers]:
        with suppress(OSError):
            archive.writestr(name, stored(file))
            count += 1
    for letter in found.letters:
        if letter.body:
            archive.writestr(*_written(letter))
            count += 1
    return count


def _written(letter: Letter) -> tuple[str, bytes | str]:
    """A letter as a file: as it went out, or, where it holds a private link, its text without that."""
    raw = bytes(letter.body)
    if letter.purpose not in WITH_A_LINK:
        return f"letters/{letter.uid}.eml", raw
    message = message_from_bytes(raw, EmailMessage, policy=default)
    heads = "".join(f"{name}: {message[name]}\n" for name in ("From", "To", "Subject", "Date"))
    body = message.get_body(("plain",))
    return f"letters/{letter.uid}.txt", heads + "\n" + without_secrets(body.get_content() if body else "")
