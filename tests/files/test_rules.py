"""What a photograph may be, as a table."""

import pytest

from shop.files.rules import NOT_A_PDF, pdf_fault, pixel_fault, place, size_fault
from tests.photographs import PDF


def test_it_works() -> None:
    assert place("ab" + "c" * 62) == ("ab", "c" * 62)


@pytest.mark.parametrize(
    ("size_bytes", "said"),
    [
        (0, "The file is empty."),
        (1, ""),
        (10_000_000, ""),
        (10_000_001, "The file has 10.0 MB; at most 10 MB are taken."),
        (25_000_000, "The file has 25.0 MB; at most 10 MB are taken."),
    ],
)
def test_it_says_which_sizes_are_not_taken(size_bytes: int, said: str) -> None:
    assert size_fault(size_bytes) == said


@pytest.mark.parametrize(
    ("width_px", "height_px", "said"),
    [
        (8000, 5000, ""),
        (8000, 5001, "The picture is 8000 by 5001 pixels; at most 40 million are taken."),
        (50_000, 50_000, "The picture is 50000 by 50000 pixels; at most 40 million are taken."),
    ],
)
def test_it_says_how_many_pixels_are_too_many(width_px: int, height_px: int, said: str) -> None:
    assert pixel_fault(width_px, height_px) == said


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (PDF, ""),
        (PDF.rstrip() + b"\r\n\0", ""),
        (PDF.replace(b"-1.4", b"-2.0"), ""),
        (b"", "The file is empty."),
        (PDF[:8] + bytes(10_000_000) + PDF[8:], "The file has 10.0 MB; at most 10 MB are taken."),
        (PDF[:-8], NOT_A_PDF),
        (b" " + PDF, NOT_A_PDF),
        (b"<script>alert(1)</script>" + PDF, NOT_A_PDF),
        (PDF + b"<script>alert(1)</script>", NOT_A_PDF),
        (PDF + b"PK\x05\x06" + bytes(18), NOT_A_PDF),
        (PDF.replace(b"startxref", b"startxxxx"), NOT_A_PDF),
        (PDF.replace(b"%PDF-1.4", b"%PDF-x.4"), NOT_A_PDF),
        (b"\xff\xd8\xff\xe0" + PDF[4:], NOT_A_PDF),
    ],
    ids=[
        "whole", "blanks after", "of another edition", "empty", "too large", "cut short", "blank before", "page before",
        "page after", "archive after", "no trailer", "no edition", "photograph",
    ],
)  # fmt: skip
def test_it_says_what_is_no_whole_pdf(content: bytes, said: str) -> None:
    assert pdf_fault(content) == said
