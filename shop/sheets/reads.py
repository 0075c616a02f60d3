"""The rows of a CSV or an XLSX, one after the other; a whole file is never held as rows."""

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from typing import Any

from openpyxl import load_workbook

from shop.sheets.rules import (
    FORMULA,
    MOST_BYTES,
    MOST_ROWS,
    MOST_UNPACKED,
    BadSheet,
    Row,
    bare,
    decoded,
    delimiter_of,
    shielded,
    zip_faults,
)

csv.field_size_limit(MOST_BYTES)  # a cell that is too long is then one bad row, and not the end of the file
MOST_COLUMNS = 200


def as_csv(rows: Iterable[Iterable[str | int | Decimal]]) -> str:
    """Rows as the text of a CSV file, in which no spreadsheet takes a text for a formula; numbers keep their sign."""
    text = io.StringIO(newline="")
    csv.writer(text).writerows([shielded(c) if isinstance(c, str) else c for c in row] for row in rows)
    return text.getvalue()


@dataclass(frozen=True)
class Sheet:
    """A file that holds one table, whose first row with anything in it names the columns."""

    raw: bytes

    def __post_init__(self) -> None:
        if len(self.raw) > MOST_BYTES:
            raise BadSheet(f"It is larger than {MOST_BYTES // 1_000_000} MB. Split it.")
        if not self.raw.strip():
            raise BadSheet("It is empty.")

    @property
    def is_xlsx(self) -> bool:
        return self.raw[:4] == b"PK\x03\x04"

    @cached_property
    def encoding(self) -> str:
        """In what its text is written."""
        return "xlsx" if self.is_xlsx else decoded(self.raw)[1]

    @cached_property
    def columns(self) -> list[str]:
        """The names of the columns as they stand there; an unnamed one is an empty text."""
        for row in self._all():
            names = [cell.strip() for cell in row.cells]
            if len(names) > MOST_COLUMNS:
                raise BadSheet(f"It has {len(names)} columns, more than {MOST_COLUMNS}.")
            if twice := sorted({name for name in names if name and names.count(name) > 1}):
                raise BadSheet(f"More than one column is named {twice[0][:80]}. Rename them.")
            return names
        raise BadSheet("It holds no row.")

    def rows(self) -> Iterator[Row]:
        """Every row under the names of the columns that holds anything."""
        rows = self._all()
        next(rows, None)
        for count, row in enumerate(rows, 1):
            if count > MOST_ROWS:
                raise BadSheet(f"It has more than {MOST_ROWS} rows. Split it.")
            yield row

    def _all(self) -> Iterator[Row]:
        for row in self._xlsx() if self.is_xlsx else self._csv():
            if row.wrong or any(cell.strip() for cell in row.cells):
                yield row

    def _csv(self) -> Iterator[Row]:
        text, _ = decoded(self.raw)
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter_of(text))
        line = 1
        try:
            for cells in reader:
                yield Row(line, [bare(cell) for cell in cells])
                line = reader.line_num + 1
        except csv.Error as fault:
            raise BadSheet(f"Line {line} cannot be read: {fault}.") from None

    def _xlsx(self) -> Iterator[Row]:
        try:
            _look_at(self.raw)
            book = load_workbook(io.BytesIO(self.raw), read_only=True, data_only=False, keep_links=False)
            sheet: Any = book.worksheets[0]
            sheet.reset_dimensions()  # what the file says of its size may be wrong
            for line, cells in enumerate(sheet.iter_rows(), 1):
                if line > 2 * MOST_ROWS:
                    raise BadSheet(f"It has more than {MOST_ROWS} rows. Split it.")
                wrong = {n: FORMULA for n, cell in enumerate(cells) if cell.data_type == "f"}
                yield Row(line, [_text(cell.value) for cell in cells], wrong)
        except BadSheet:
            raise
        except Exception as fault:  # noqa: BLE001 - the library raises whatever a broken file makes it stumble over
            raise BadSheet(f"It is not a workbook that can be read ({type(fault).__name__}).") from None


def _look_at(raw: bytes) -> None:
    """Refuse a zip bomb, by what the zip declares and by what really comes out, and XML that declares entities."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as packed:
            infos = packed.infolist()
            faults = zip_faults([(info.compress_size, info.file_size) for info in infos])
            if faults:
                raise BadSheet(" ".join(faults))
            total = 0
            for info in infos:
                with packed.open(info) as file:
                    while piece := file.read(65536):
                        total += len(piece)
                        if total > MOST_UNPACKED:
                            raise BadSheet(f"Unpacked it is larger than {MOST_UNPACKED // 1_000_000} MB.")
                        if b"<!DOCTYPE" in piece or b"<!ENTITY" in piece:
                            raise BadSheet("It declares entities, which no spreadsheet needs.")
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError):
        raise BadSheet("It is a broken or locked zip.") from None


def _text(value: Any) -> str:
    """A cell as a person would have typed it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)
