"""U4: a cell that a spreadsheet would calculate leaves as text, and everything that leaves comes back as it was."""

import csv
import io
import zipfile
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from shop.customers.actions import add_customer
from shop.customers.models import Customer
from shop.sheets.rules import bare, shielded
from tests.conftest import staffed
from tests.takeout.test_take_out import flush

STARTS = ["=", "+", "-", "@", "\t", "\r", "\0", "＝", "＋", "－", "＠"]
BEFORE = ["", " ", '"', "'", "''", "\n", " \" '", "\u00a0"]
AFTER = ["1+1", 'HYPERLINK("http://elsewhere.example")', "", "cmd|' /C calc'!A0", ","]
CELLS = ["".join(parts) for parts in product(BEFORE, STARTS, AFTER)]
PLAIN = ["O'Neill", "'t Hooft", "Ærø", "1-2", "a=b", "", "נועה", "'", '"', "x\t=1"]


@pytest.mark.parametrize("cells", [CELLS, PLAIN])
def test_it_works(cells: list[str]) -> None:
    assert [cell for cell in cells if bare(shielded(cell)) != cell] == []


def test_it_leaves_no_cell_to_be_calculated() -> None:
    assert len(CELLS) == 440
    assert [cell for cell in CELLS if shielded(cell)[:1] != "'"] == []
    assert [cell for cell in PLAIN if shielded(cell) != cell] == []


@pytest.mark.django_db(transaction=True)
def test_it_brings_a_thousand_rows_back(tmp_path: Path) -> None:
    by: Any = staffed()["counter"]
    texts = [cell.replace("\0", "") for cell in CELLS + PLAIN]
    names = [f"{text}{n}" for n, text in enumerate((texts * 3)[:1000])]
    for name in names:
        add_customer(by=by, kind="person", name=name, email="", phone="", reminders=False)
    call_command("take_out", tmp_path / "a.zip", stdout=io.StringIO())
    with zipfile.ZipFile(tmp_path / "a.zip") as archive:
        sheet = list(csv.DictReader(io.StringIO(archive.read("customers.Customer.csv").decode(), newline="")))
    before = list(Customer.objects.order_by("pk").values_list())
    flush()

    call_command("bring_in", tmp_path / "a.zip", stdout=io.StringIO())

    assert list(Customer.objects.order_by("pk").values_list()) == before
    assert len(before) == len(sheet) == 1000
    assert [row["name"] for row in sheet if row["name"].lstrip()[:1] in set("=+-@＝＋－＠")] == []
    assert all(row["number"].isdecimal() for row in sheet)
