"""A paper read back: its text, its pages as pictures, the marks that can be scanned from them."""

from typing import Any

import numpy as np
import pypdfium2
import zxingcpp

MM_A_PT = 25.4 / 72


def text_of(content: bytes) -> str:
    """Everything that is written on a paper, on one line with single spaces."""
    document = pypdfium2.PdfDocument(content)
    found = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return " ".join(found.split())


def pictures_of(content: bytes, scale: float = 3) -> list[Any]:
    """Each page as an array of red, green and blue."""
    document = pypdfium2.PdfDocument(content)
    found = [np.asarray(page.render(scale=scale).to_pil().convert("RGB")) for page in document]
    document.close()
    return found


def marks_of(content: bytes) -> list[list[str]]:
    """The texts of the QR codes of each page."""
    return [[mark.text for mark in zxingcpp.read_barcodes(each)] for each in pictures_of(content)]


def sizes_of(content: bytes) -> list[tuple[int, int]]:
    """Width and height of each page in mm."""
    document = pypdfium2.PdfDocument(content)
    found = [(round(page.get_width() * MM_A_PT), round(page.get_height() * MM_A_PT)) for page in document]
    document.close()
    return found


def is_grey(content: bytes) -> bool:
    """Whether no page has any colour, and each has something on it."""
    pages = pictures_of(content, 1.5)
    flat = all(
        (each[..., 0] == each[..., 1]).all() and (each[..., 1] == each[..., 2]).all() for each in pages
    )
    return flat and all(each.min() < 64 for each in pages)


def white_edges_mm(content: bytes) -> float:
    """The narrowest white edge around what is printed on any page."""
    found = []
    for each in pictures_of(content):
        dark = each[..., 0] < 250
        down, across = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
        height, width = dark.shape
        found.append(min(down[0], height - 1 - down[-1], across[0], width - 1 - across[-1]))
    return float(min(found)) / 3 * MM_A_PT
