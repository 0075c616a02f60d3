"""Rows of a CSV or an XLSX, whatever wrote it; and files that are made to do harm."""

import io
import zipfile
from datetime import date, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from shop.sheets.reads import Sheet
from shop.sheets.rules import FORMULA, BadSheet, bare, shielded, zip_faults


def cells(raw: bytes) -> list[list[str]]:
    """All cells under the names."""
    return [row.cells for row in Sheet(raw).rows()]


def read(raw: bytes) -> tuple[list[str], list[list[str]]]:
    """The names and all cells."""
    return Sheet(raw).columns, cells(raw)


def book(*rows: list[Any]) -> bytes:
    """An XLSX with these rows."""
    made, out = Workbook(), io.BytesIO()
    assert made.active is not None
    for row in rows:
        made.active.append(row)
    made.save(out)
    return out.getvalue()


def packed(name: str, raw: bytes) -> bytes:
    """A zip with one file in it."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr(name, raw)
    return out.getvalue()


def test_it_works() -> None:
    sheet = Sheet(b'Name,Mail\r\n\r\n"Ada, ""A"" \r\nMerrow",a@b.example\r\nBo,b@b.example\r\n')

    assert sheet.columns == ["Name", "Mail"]
    assert [(row.line, row.cells) for row in sheet.rows()] == [
        (3, ['Ada, "A" \r\nMerrow', "a@b.example"]),
        (5, ["Bo", "b@b.example"]),
    ]


@pytest.mark.parametrize(
    ("raw", "encoding"),
    [
        ("Näme;X\nŁ;1\n".encode(), "utf-8"),
        ("\ufeffNäme;X\nŁ;1\n".encode(), "utf-8"),
        ("Näme;X\nŁ;1\n".encode("utf-16"), "utf-16"),
        ("Näme;X\nŁ;1\n".encode("utf-16-le"), "utf-16-le"),
        ("Näme;X\nŁ;1\n".encode("utf-16-be"), "utf-16-be"),
        ("Näme;X\nŠ;1\n".encode("cp1252"), "cp1252"),
    ],
)
def test_it_finds_the_encoding(raw: bytes, encoding: str) -> None:
    sheet = Sheet(raw)

    assert (sheet.encoding, sheet.columns) == (encoding, ["Näme", "X"])
    assert cells(raw) == [["Š" if encoding == "cp1252" else "Ł", "1"]]


@pytest.mark.parametrize("sign", [",", ";", "\t", "|"])
def test_it_finds_what_stands_between_the_cells(sign: str) -> None:
    raw = f'"a,b;c|d"{sign}B{sign}C\n1{sign}2{sign}3\n'.encode()

    assert cells(raw) == [["1", "2", "3"]]


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (b"\x81\x8d\x8f,\xff\n", "neither UTF-8"),
        ("Ä,ö\nü,ß\n".encode() * 9 + b"\xff\n", "line 19 holds a sign"),
        (b"A,A\n1,2\n", "More than one column is named A"),
        (b",".join(b"c%d" % n for n in range(1_000_000)), "1000000 columns"),
        (b"A\n" + b"1\n" * 100_001, "more than 100000 rows"),
        (b"A\n" + b"x" * 20_000_000, "larger than 20 MB"),
        (b"PK\x03\x04 and no more", "broken or locked zip"),
        (packed("a.txt", b"a"), "not a workbook"),
        (packed("bomb.xml", b"0" * 50_000_000), "packed more than 100 times"),
        (packed("xl/workbook.xml", b'<!DOCTYPE x [<!ENTITY a "b">]><x/>'), "declares entities"),
    ],
)  # fmt: skip
def test_it_refuses(raw: bytes, said: str) -> None:
    with pytest.raises(BadSheet, match=said):
        read(raw)


def test_it_does_not_believe_what_a_zip_declares() -> None:
    """The size in the directory of the zip is made small; what comes out is not."""
    raw = bytearray(packed("xl/workbook.xml", bytes(range(256)) * 4000))
    real = (256 * 4000).to_bytes(4, "little")
    while (at := raw.find(real)) >= 0:
        raw[at : at + 4] = (10).to_bytes(4, "little")

    with pytest.raises(BadSheet):
        assert Sheet(bytes(raw)).columns


def test_it_judges_a_zip_by_its_sizes() -> None:
    assert zip_faults([(1, 100)] * 100) == []
    assert len(zip_faults([(1, 1)] * 101)) == 1
    assert len(zip_faults([(2_000_001, 200_000_001)])) == 1
    assert len(zip_faults([(1, 101)])) == 1


def test_it_keeps_a_cell_of_a_million_signs_and_what_comes_after() -> None:
    assert cells(b"A,B\n" + b"x" * 1_000_000 + b",1\ny,2\n") == [["x" * 1_000_000, "1"], ["y", "2"]]


def test_it_reads_a_workbook() -> None:
    raw = book(
        ["Name", "Phone", "Day", "At", "Yes"],
        [],
        ["Ada", 441632960417.0, date(2024, 5, 31), datetime(2024, 5, 31, 8), True],  # noqa: DTZ001 - cells have no zone
        ["Bo", "=1+1", 1.5, None, False],
    )
    rows = list(Sheet(raw).rows())

    assert [(row.line, row.cells) for row in rows] == [
        (3, ["Ada", "441632960417", "2024-05-31", "2024-05-31", "yes"]),
        (4, ["Bo", "=1+1", "1.5", "", "no"]),
    ]
    assert [row.wrong for row in rows] == [{}, {1: FORMULA}]


@pytest.mark.parametrize("text", ["=1", "+44", "-1", "@x", "\t=", "\rx", " =1", '"=1', "'=1", "＝1", "\0=1"])
def test_it_shields_what_a_spreadsheet_would_calculate(text: str) -> None:
    assert shielded(text) == f"'{text}"
    assert bare(shielded(text)) == text


@pytest.mark.parametrize("text", ["", "Ada", "O'Neill", "'t Hooft", "1-2", "a=b"])
def test_it_leaves_other_texts_alone(text: str) -> None:
    assert shielded(text) == bare(text) == text


@given(st.text(alphabet="'\"=+-@\t\r\0 a＝", max_size=8))
def test_it_loses_nothing(text: str) -> None:
    assert bare(shielded(text)) == text
