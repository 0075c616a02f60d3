"""Sign a text with the workshop's present key; change the key."""

import os
import secrets

from django.conf import settings
from django.db import transaction

from shop.journal.actions import write
from shop.signing.models import SigningKey
from shop.signing.reads import private_file
from shop.signing.rules import key_name, public_of, signature_of
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.actions import next_number
from shop.workshop.reads import now


def signed(*, by: Person, text: str) -> tuple[SigningKey, str]:
    """The key and its signature over a text, in the caller's transaction; whoever signs a record was asked.

    The first record makes the first key. Where the private half of the present key is not here, as after a restore, another
    key takes its place.
    """
    row = SigningKey.objects.filter(present=True).first()
    seed = _seed(row)
    if row is None or seed is None:
        row, seed = _made(by, "The private half of the one before is not here." if row else "", row)
    return row, signature_of(seed, text)


def change_key(*, by: Person, reason: str) -> SigningKey:
    """Retire the present key, for a reason; what it signed stays signed."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        return _made(by, reason, SigningKey.objects.filter(present=True).first())[0]


def _seed(row: SigningKey | None) -> bytes | None:
    """The private half of a key, if it is here and is of that key."""
    if row is None:
        return None
    try:
        seed = private_file(row.key).read_bytes()
    except OSError:
        return None
    return seed if len(seed) == 32 and public_of(seed) == row.public else None


def _made(by: Person, reason: str, before: SigningKey | None) -> tuple[SigningKey, bytes]:
    """A new present key; of two people at once, the second takes what the first has made."""
    number = next_number("signing_key")  # its row stays locked: one makes a key at a time
    present = SigningKey.objects.filter(present=True).first()
    if present != before and (seed := _seed(present)) is not None and present is not None:
        return present, seed
    seed = secrets.token_bytes(32)
    public = public_of(seed)
    key = key_name(public)
    _keep(
        key, seed
    )  # the file first: whatever is killed after this leaves a file without a row, which harms nobody
    at = now()
    SigningKey.objects.filter(present=True).update(present=False, retired_at=at)
    row = SigningKey.objects.create(number=number, key=key, public=public, made_at=at)
    facts = {"key": key, "public": public, "before": present.key if present else ""}
    write(
        subject=f"key:{key}", by=str(by.uid), verb="signing key made", facts=facts, words={"reason": reason}
    )
    return row, seed


def _keep(key: str, seed: bytes) -> None:
    """The private half on the disk, for the owner of the data folder alone."""
    settings.SIGNING_KEYS.mkdir(mode=0o700, parents=True, exist_ok=True)
    path = private_file(key)
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(seed)
        file.flush()
        os.fsync(file.fileno())
    handle = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
