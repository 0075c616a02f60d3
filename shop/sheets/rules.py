"""How a table stands in a file: its signs, its columns, and cells that no spreadsheet may take for a formula. Pure."""

import re
from dataclasses import dataclass, field

DELIMITERS = ",;\t|"
MOST_BYTES = 20_000_000
MOST_ROWS = 100_000
# What an XLSX, which is a zip, may hold.
MOST_FILES, MOST_UNPACKED, MOST_RATIO = 100, 200_000_000, 100
# What a spreadsheet would take for a formula, also behind spaces and quotes, and in full width.
_FORMULA = re.compile(r"[\s\"'\0]*[=+\-@\t\r\0\uff1d\uff0b\uff0d\uff20]")
FORMULA = "This cell is a formula. Save the sheet with values only."


class BadSheet(Exception):
    """The file cannot be read as a table; the message says why."""


@dataclass(frozen=True)
class Row:
    """One row: the line (of a CSV) or row (of an XLSX) where it begins; `wrong` says why single cells cannot be used."""

    line: int
    cells: list[str]
    wrong: dict[int, str] = field(default_factory=dict)


def shielded(text: str) -> str:
    """A text for a cell of a CSV: with an apostrophe before it where a spreadsheet would calculate."""
    return f"'{text}" if _FORMULA.match(text) else text


def bare(cell: str) -> str:
    """What `shielded` was given; any other text as it is."""
    return cell[1:] if cell[:1] == "'" and _FORMULA.match(cell[1:]) else cell


def decoded(raw: bytes) -> tuple[str, str]:
    """The text of a file and the name of its encoding: UTF-8, UTF-16, or else what Windows of the West writes."""
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return _strict(raw, "utf-16"), "utf-16"
    if zeros := raw[:4000].count(0):
        name = "utf-16-le" if raw[1:4000:2].count(0) > zeros / 2 else "utf-16-be"
        return _strict(raw, name), name
    try:
        return raw.decode("utf-8-sig"), "utf-8"
    except UnicodeDecodeError as fault:
        _not_nearly_utf8(raw, fault.start)
    return _strict(raw, "cp1252"), "cp1252"


def _strict(raw: bytes, name: str) -> str:
    try:
        return raw.decode(name)
    except UnicodeDecodeError:
        raise BadSheet("Its encoding is neither UTF-8, UTF-16 nor Windows-1252. Save it as UTF-8.") from None


def _not_nearly_utf8(raw: bytes, start: int) -> None:
    """A file that is UTF-8 but for a few signs would be spoilt as a whole by any other reading."""
    text = raw.decode("utf-8", "replace")
    wrong = text.count("\ufffd")
    if sum(sign > "\x7f" for sign in text) > 2 * wrong:
        line = raw[:start].count(b"\n") + 1
        raise BadSheet(
            f"It is UTF-8, but line {line} holds a sign that is not. Mend that line or save it anew."
        )


def delimiter_of(text: str) -> str:
    """What stands most often between the cells of the first line that holds anything, outside quotes."""
    first = next((line for line in text[:100_000].splitlines() if line.strip()), "")
    outside = re.sub(r'"[^"]*"', "", first)
    return max(DELIMITERS, key=outside.count)


def zip_faults(files: list[tuple[int, int]]) -> list[str]:
    """Why a zip is not unpacked, from the packed and unpacked size in bytes of each of its files."""
    found = []
    if len(files) > MOST_FILES:
        found.append(f"It holds {len(files)} files, more than {MOST_FILES}.")
    if sum(size for _, size in files) > MOST_UNPACKED:
        found.append(f"Unpacked it is larger than {MOST_UNPACKED // 1_000_000} MB.")
    if any(size > MOST_RATIO * max(packed, 1) for packed, size in files):
        found.append(f"A file in it is packed more than {MOST_RATIO} times.")
    return found
