"""A photograph re-encoded, before it is stored; stored bytes; the photographs of subjects."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from io import BytesIO

from django.conf import settings
from django.db.models import Count, QuerySet
from django.http import HttpResponse
from PIL import Image, ImageOps

from shop.files.models import Document, File, Photograph
from shop.files.rules import (
    DAMAGED,
    FORMATS,
    LONGEST_SIDE_PX,
    MANY_PIXELS,
    pixel_fault,
    place,
    size_fault,
    unread,
)

MOST_SHOWN = 60


@dataclass(frozen=True)
class Picture:
    """A JPEG of our own making: nothing of the bytes that were sent is in it but what they show."""

    jpeg: bytes
    width_px: int
    height_px: int


class NotAPhotograph(Exception):
    """What was sent is not taken; the message is the sentence for people."""


def re_encoded(content: bytes) -> Picture:
    """The picture in these bytes as a JPEG of ours; neither a name nor a declared type is looked at."""
    if fault := size_fault(len(content)):
        raise NotAPhotograph(fault)
    try:
        opened = Image.open(BytesIO(content), formats=FORMATS)
    except Image.DecompressionBombError:
        raise NotAPhotograph(MANY_PIXELS) from None
    except Exception:  # noqa: BLE001 - whatever the library says of hostile bytes, they are no photograph
        raise NotAPhotograph(unread(content)) from None
    if fault := pixel_fault(*opened.size):
        raise NotAPhotograph(fault)
    try:
        return _drawn(opened)
    except Exception:  # noqa: BLE001 - likewise
        raise NotAPhotograph(DAMAGED) from None


def _drawn(opened: Image.Image) -> Picture:
    """Upright, no longer than allowed, on white, and free of everything that is not the picture."""
    opened.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    picture = opened if opened.mode in ("RGB", "L") else opened.convert("RGBA")
    picture.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    picture = ImageOps.exif_transpose(picture)
    flat = Image.new("RGB", picture.size, "white")
    flat.paste(picture, mask=picture.getchannel("A") if picture.mode == "RGBA" else None)
    written = BytesIO()
    flat.save(written, "JPEG", quality=85, optimize=True)
    return Picture(written.getvalue(), *flat.size)


def stored(file: File) -> bytes:
    """The bytes of a file; an OSError when they are gone or are not those that were stored."""
    folder, name = place(file.sha256)
    content = (settings.FILES / folder / name).read_bytes()
    if hashlib.sha256(content).hexdigest() != file.sha256:
        raise OSError(f"The bytes of file {file.sha256} are not those that were stored.")
    return content


def in_place(content: bytes, media_type: str) -> HttpResponse:
    """Bytes to be looked at where they are, of the one type that they are, and without the right to do anything."""
    answer = HttpResponse(content, content_type=media_type, headers={"Content-Disposition": "inline"})
    vars(answer)["_csp_update"] = {"sandbox": True}  # read by the middleware of django-csp
    return answer


def attached(content: bytes, media_type: str, name: str) -> HttpResponse:
    """Bytes to be taken away under a name, which a browser does not open here."""
    answer = in_place(content, media_type)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def photographs(subjects: Iterable[str]) -> QuerySet[Photograph]:
    """The photographs of subjects, but those whose bytes were erased."""
    return Photograph.objects.filter(subject__in=list(subjects), file__gone=None).select_related("file")


def documents(subjects: Iterable[str]) -> QuerySet[Document]:
    """The documents of subjects, newest first."""
    rows = Document.objects.filter(subject__in=list(subjects), file__gone=None).select_related("file")
    return rows.order_by("-pk")


def shown(subjects: Iterable[str]) -> QuerySet[Photograph]:
    """The newest photographs of subjects, as many as a page shows."""
    return photographs(subjects).annotate(marked=Count("spots")).order_by("-pk")[:MOST_SHOWN]
