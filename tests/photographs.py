"""Photographs made for the tests, with and without what must not be kept."""

from functools import cache
from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import ExifTags, Image

PDF = b"%PDF-1.4\n1 0 obj<</Type/Catalog>>endobj\ntrailer<</Root 1 0 R>>\nstartxref\n0\n%%EOF\n"  # begins and ends as one
GPS = (51.0, 28.0, 38.0)
SPOT = {"shape": "arrow", "x": "0.25", "y": "1", "words": "A crack."}  # where to look on one


@cache
def encoded(
    kind: str = "JPEG", size: tuple[int, int] = (60, 40), mode: str = "RGB", colour: Any = "navy", **more: Any
) -> bytes:
    """A picture of one colour, in the bytes of a format."""
    written = BytesIO()
    Image.new(mode, size, colour).save(written, kind, **more)
    return written.getvalue()


def halves(kind: str, orientation: int = 1) -> bytes:
    """A picture whose left half is red and whose right half is blue, turned by its EXIF, with a place and a maker in it."""
    picture = Image.new("RGB", (64, 32), "blue")
    picture.paste("red", (0, 0, 32, 32))
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    exif[ExifTags.Base.Make] = "Tarnwell Camera"
    exif.get_ifd(ExifTags.IFD.GPSInfo).update({1: "N", 2: GPS, 3: "W", 4: GPS})
    written = BytesIO()
    picture.save(written, kind, exif=exif, **({"quality": 95} if kind == "JPEG" else {"lossless": True}))
    return written.getvalue()


def upload(content: bytes, name: str = "IMG_0001.jpg", declared: str = "image/jpeg") -> SimpleUploadedFile:
    """The bytes as a browser sends them."""
    return SimpleUploadedFile(name, content, content_type=declared)


def form(content: bytes, words: str = "", **more: Any) -> dict[str, Any]:
    """What a form with a photograph holds."""
    return {"photograph": upload(content), "words": words} | more
