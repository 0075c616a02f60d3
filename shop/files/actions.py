"""Store bytes once; keep a photograph, or a document as it was sent."""

import hashlib
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.db import transaction
from django.db.models import Q

from shop.files.models import Document, File, Gone, Photograph, Spot
from shop.files.reads import Picture
from shop.files.rules import MEDIA_TYPE, PDF, place
from shop.journal.actions import write
from shop.workshop.actions import failpoint
from shop.workshop.reads import now


def keep_photograph(*, by: str, subject: str, chain: str, picture: Picture, words: str) -> Photograph:
    """A photograph of a subject, journalled on the chain of the parent that the caller has locked."""
    file = _once(picture.jpeg, media_type=MEDIA_TYPE, width_px=picture.width_px, height_px=picture.height_px)
    row = Photograph.objects.create(file=file, subject=subject, words=words, at=now(), by=by)
    facts = {"photograph": str(row.uid), "sha256": file.sha256, "of": subject}
    write(subject=chain, by=by, verb="photographed", facts=facts)
    return row


def point_out(*, by: str, photograph: Photograph, shape: str, across: int, down: int, words: str) -> Spot:
    """A spot on a photograph, which the caller has locked; journalled on a chain of the photograph's own."""
    given: dict[str, Any] = {"shape": shape, "across": across, "down": down, "words": words}
    row = Spot.objects.create(photograph=photograph, at=now(), by=by, **given)
    facts = {"spot": str(row.uid), "shape": shape, "across": across, "down": down}
    write(
        subject=f"photograph:{photograph.uid}", by=by, verb="pointed out", facts=facts, words={"words": words}
    )
    return row


def keep_document(*, by: str, subject: str, chain: str, pdf: bytes) -> Document:
    """A document of a subject, as it was sent, journalled likewise."""
    file = _once(pdf, media_type=PDF)
    row = Document.objects.create(file=file, subject=subject, at=now(), by=by)
    facts = {"document": str(row.uid), "sha256": file.sha256, "of": subject}
    write(subject=chain, by=by, verb="document kept", facts=facts)
    return row


def _once(content: bytes, **facts: Any) -> File:
    """The file of these bytes, stored if they are new."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A file is kept in the transaction of the action only.")
    sha256 = hashlib.sha256(content).hexdigest()
    # The bytes first: whatever is killed after this leaves a file without a row, which harms nobody.
    _write(content, sha256)
    file = File.objects.get_or_create(sha256=sha256, defaults=facts | {"size_bytes": len(content)})[0]
    if Gone.objects.select_for_update().filter(file=file).delete()[0]:
        _write(content, sha256)  # under that lock: whoever unlinks may have done so since the first time
    return file


def erase_bytes(*, photographs: Sequence[int], documents: Sequence[int]) -> int:
    """Let the bytes of photographs and documents, given by key, go once the caller's transaction is committed; how many.

    Bytes that another photograph or document shows too stay. The rows stay: that there was one is no secret.
    """
    theirs = Q(photographs__in=photographs) | Q(documents__in=documents)
    others = Photograph.objects.exclude(pk__in=photographs).values("file")
    papers = Document.objects.exclude(pk__in=documents).values("file")
    rows = File.objects.filter(theirs, gone=None).exclude(pk__in=others).exclude(pk__in=papers).distinct()
    made = Gone.objects.bulk_create([Gone(file=row, at=now()) for row in rows], ignore_conflicts=True)
    transaction.on_commit(unlink_gone)
    return len(made)


def unlink_gone() -> int:
    """Unlink what is still in the folder of files whose bytes are gone; how many. A sweep after a crash calls it too."""
    count = 0
    for pk, sha256 in list(Gone.objects.order_by("pk").values_list("pk", "file__sha256")):
        path = settings.FILES.joinpath(*place(sha256))
        if path.exists():
            with transaction.atomic():
                if Gone.objects.select_for_update().filter(pk=pk).first():  # not kept anew meanwhile
                    path.unlink(missing_ok=True)
                    count += 1
    return count


def _write(content: bytes, sha256: str) -> None:
    """Whole or not at all, and readable by the owner of the data folder alone; what stands there already stays."""
    folder, name = place(sha256)
    home = settings.FILES / folder
    path = home / name
    if not path.exists():
        home.mkdir(mode=0o700, parents=True, exist_ok=True)
        draft = home / f"{uuid4()}.tmp"
        try:
            with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            draft.replace(path)
            failpoint("after-rename")
        finally:
            draft.unlink(missing_ok=True)
    # Also for a file that stood there: whoever wrote it may have been killed before this line.
    for each in (home, home.parent, home.parent.parent):
        _sync_folder(each)


def _sync_folder(folder: Path) -> None:
    """Have the folder's own entries on the disk, so that a power cut does not lose a name."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
