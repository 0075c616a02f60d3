"""What a photograph and a document may be. Pure: the limits, and the sentences that refuse."""

import re
from dataclasses import dataclass
from enum import StrEnum

MOST_BYTES = 10_000_000
MOST_PX = 40_000_000
LONGEST_SIDE_PX = 2000
FORMATS = ("JPEG", "PNG", "WEBP")
HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
MEDIA_TYPE = "image/jpeg"
PDF = "application/pdf"

# How telephones call it, from memory.
TAKE_JPEG = "in the settings of its camera choose “most compatible”, or switch HEIF or “high efficiency” off."
PHOTOGRAPH_HELP = f"If your telephone takes HEIC, let it take JPEG: {TAKE_JPEG}"
HEIC = f"This is a HEIC photograph, which cannot be kept. Let the telephone take JPEG: {TAKE_JPEG} Then take it again."
NOT_A_PHOTOGRAPH = "This is no photograph that can be kept: send a JPEG, PNG or WebP."
MANY_PIXELS = "The picture has far more pixels than the 40 million that are taken."
NOT_A_PDF = "This is no whole PDF: send the file as it came, not cut short and with nothing hung on it."
DAMAGED = "This photograph is damaged or cut short. Take it again, or send the file once more."


def size_fault(size_bytes: int) -> str:
    """Why a file of this size is not taken, or nothing."""
    if size_bytes == 0:
        return "The file is empty."
    if size_bytes > MOST_BYTES:
        return f"The file has {size_bytes / 1e6:.1f} MB; at most {MOST_BYTES // 1_000_000} MB are taken."
    return ""


def unread(content: bytes) -> str:
    """Why bytes that are none of the formats are not taken; what says that it is HEIC is told how not to be (ISO/IEC 14496-12, 4.3)."""
    if content[4:8] == b"ftyp" and content[8:12] in HEIC_BRANDS:
        return HEIC
    return NOT_A_PHOTOGRAPH


def pixel_fault(width_px: int, height_px: int) -> str:
    """Why a picture of this size is not taken, or nothing; asked of the header, before anything is decoded."""
    if width_px * height_px > MOST_PX:
        return f"The picture is {width_px} by {height_px} pixels; at most {MOST_PX // 1_000_000} million are taken."
    return ""


def pdf_fault(content: bytes) -> str:
    """Why these bytes are not kept as a PDF, or nothing; only how they begin and end is looked at, whatever the name says."""
    if fault := size_fault(len(content)):
        return fault
    ends = re.search(rb"\sstartxref\s+[0-9]+\s+%%EOF[\s\0]*\Z", content[-1024:])
    return "" if re.match(rb"%PDF-[12]\.[0-9]", content) and ends else NOT_A_PDF


def place(sha256: str) -> tuple[str, str]:
    """Folder and name of the bytes with a SHA-256."""
    return sha256[:2], sha256[2:]


class SpotShape(StrEnum):
    """How a spot on a photograph is drawn."""

    CIRCLE = "circle"
    ARROW = "arrow"


@dataclass(frozen=True)
class Drawn:
    """A spot as it is drawn on a picture of a size: a circle around it or an arrow to it, and where its number stands."""

    x: float
    y: float
    radius: float
    path: str
    number_x: float
    number_y: float


def drawn_spot(shape: str, x: float, y: float, width: int, height: int) -> Drawn:
    """A spot at shares of the width and height. An arrow comes from the middle of the picture, so that it stays on it."""
    size = min(width, height) / 12
    at_x, at_y = x * width, y * height
    to_right, to_foot = (1 if x < 0.5 else -1), (1 if y < 0.5 else -1)
    tail_x, tail_y = at_x + 2 * size * to_right, at_y + 2 * size * to_foot
    path = (
        f"M{tail_x:.1f} {tail_y:.1f}L{at_x:.1f} {at_y:.1f}"
        f"M{at_x + size * to_right:.1f} {at_y:.1f}L{at_x:.1f} {at_y:.1f}L{at_x:.1f} {at_y + size * to_foot:.1f}"
    )
    number_x, number_y = at_x + 2.6 * size * to_right, at_y + 2.6 * size * to_foot
    if shape == SpotShape.CIRCLE:
        return Drawn(at_x, at_y, size, "", at_x + 1.7 * size * to_right, at_y)
    return Drawn(at_x, at_y, 0, path, number_x, number_y)
