"""What a photograph and a document may be. Pure: the limits, and the sentences that refuse."""

import re

MOST_BYTES = 10_000_000
MOST_PX = 40_000_000
LONGEST_SIDE_PX = 2000
FORMATS = ("JPEG", "PNG", "WEBP")
MEDIA_TYPE = "image/jpeg"
PDF = "application/pdf"

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
