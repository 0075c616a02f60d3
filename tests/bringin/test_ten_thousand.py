"""Ten thousand customers of thirty locales by the command, in processes of their own: all, quickly, in little memory."""

import os
import re
import signal
import time
from pathlib import Path

import phonenumbers
import pytest

from jobs.batches.models import Batch, Brought
from shop.customers.models import Customer
from shop.journal.models import Entry
from shop.search.models import Findable
from tests.bringin.files import REGIONS, command, ten_thousand
from tests.conftest import staffed

MOST_S, MOST_KB = 60, 300_000


@pytest.mark.usefixtures("real_database")
def test_it_works(tmp_path: Path) -> None:
    staffed()
    raw, bad, good = ten_thousand()
    path = tmp_path / "customers.csv"
    path.write_bytes(raw)

    began = time.monotonic()
    process = command("bring_in", path, "--good-rows")
    out, err = process.communicate(timeout=300)
    took = time.monotonic() - began

    assert process.returncode == 0, err
    assert took < MOST_S
    assert int(out.split()[-1]) < MOST_KB
    said = {
        (int(line), column) for line, column in re.findall(r"^bad: line (\d+), ([^:]+):", out, re.MULTILINE)
    }
    assert said == bad
    assert len(bad) == 104
    assert Customer.objects.count() == Findable.objects.filter(kind="customer").count() == len(good) == 9896
    made = {
        row.line: (row.customer.name, row.customer.email, row.customer.kind, row.customer.reminders)
        for row in Brought.objects.select_related("customer")
        if row.customer
    }
    assert made == {
        line: (cells[1], cells[2], "person" if cells[4] == "person" else "organisation", True)
        for line, cells in good.items()
    }
    numbers = [phonenumbers.parse(each) for each in Customer.objects.values_list("phone", flat=True)]
    codes = {number.country_code for number in numbers}
    assert codes >= {phonenumbers.country_code_for_region(region) for region in REGIONS}
    assert [entry.verb for entry in Entry.objects.filter(subject__startswith="batch:")] == ["brought in"]


@pytest.mark.usefixtures("real_database")
def test_it_doubles_nothing_when_it_is_killed_in_the_middle(tmp_path: Path) -> None:
    staffed()
    raw, _, good = ten_thousand(4000)
    path = tmp_path / "customers.csv"
    path.write_bytes(raw)

    process = command("bring_in", path, "--good-rows", "--map", "Id=")
    until = time.monotonic() + 60
    while not Batch.objects.filter(made__gt=0).exists():
        assert time.monotonic() < until
        time.sleep(0.02)
    os.killpg(process.pid, signal.SIGKILL)
    process.communicate()
    cut = Batch.objects.get()
    assert cut.state == "bringing in"
    assert 0 < Customer.objects.count() == cut.made < len(good)

    again = command("bring_in", path, "--good-rows", "--map", "Id=")
    out, err = again.communicate(timeout=120)

    assert again.returncode == 0, err
    assert (batch := Batch.objects.get()).passed == 4000
    assert batch.made == len(good)
    assert f"cut off after {cut.passed} of 4000 rows" in out
    assert sorted(Customer.objects.values_list("name", flat=True)) == sorted(
        cells[1] for cells in good.values()
    )


@pytest.mark.usefixtures("real_database")
def test_it_lets_two_bring_the_same_file_in_at_once(tmp_path: Path) -> None:
    staffed()
    raw, _, good = ten_thousand(1500)
    other = raw.replace(b"nr", b"second").replace(b"Id,", b"Key of theirs,")
    (tmp_path / "a.csv").write_bytes(raw)
    (tmp_path / "b.csv").write_bytes(other)

    both = [
        command("bring_in", tmp_path / name, "--good-rows", "--map", f"{key}=")
        for name, key in (("a.csv", "Id"), ("a.csv", "Id"), ("b.csv", "Key of theirs"))
    ]
    ends = [(*process.communicate(timeout=120), process.returncode) for process in both]

    assert {batch.state for batch in Batch.objects.all()} == {"brought in"}, ends
    assert Batch.objects.count() == 2
    assert Customer.objects.count() == 2 * len(good)
    assert Customer.objects.values("email").distinct().count() == 2 * len(good)
