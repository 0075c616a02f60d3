"""Loggers on a real line: the script for a serial gauge as it stands in README, and the simulator, which loses chunks."""

import os
import subprocess
import sys
import time
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from jobs.bench.models import Attempt
from jobs.bench.reads import stored_trace
from jobs.live.models import Chunk
from shop.staff.models import Token
from shop.staff.rules import Can
from tests.conftest import ROOT, Api, House
from tests.live.test_logging import Logger
from tests.walk import Walk

PATIENCE_S = 60


def token(house: House, *scopes: Can) -> str:
    """A token of the technician."""
    given = {"user": house.people["technician"], "expiry": timedelta(days=1), "label": "logger"}
    return str(Token.objects.create(scopes=[str(each) for each in scopes], **given)[1])


@pytest.mark.django_db(transaction=True)
def test_it_works(house: House, api: dict[str, Api], live_server: Any, tmp_path: Path) -> None:
    logger = Logger(Walk(house, api).to("testing")).begun()
    script, port = tmp_path / "logger.py", tmp_path / "port"
    script.write_text((ROOT / "README.md").read_text().partition("```python\n")[2].partition("```")[0])
    os.mkfifo(port)

    command = [sys.executable, str(script), live_server.url, token(house, Can.TEST), logger.uid, str(port)]
    process = subprocess.Popen(command)
    try:
        with port.open("w", buffering=1) as gauge:
            for line in ("ready", *(f"9.48{n % 10}" for n in range(15))):
                gauge.write(f"{line}\n")
                time.sleep(0.002)
        deadline = time.monotonic() + PATIENCE_S
        while Chunk.objects.count() < 2 and time.monotonic() < deadline and process.poll() is None:
            time.sleep(0.05)
    finally:
        process.terminate()
        process.wait(PATIENCE_S)

    first, second = Chunk.objects.order_by("n")
    assert (first.samples, second.samples) == (7, 14)
    assert [line.partition(b",")[2] for line in bytes(first.lines).splitlines()][:2] == [b"9.4800", b"9.4810"]


@pytest.mark.django_db(transaction=True)
def test_it_loses_nothing_on_a_bad_line(house: House, api: dict[str, Api], live_server: Any) -> None:
    Walk(house, api).to("testing")
    said = StringIO()
    given = {"site": live_server.url, "token": token(house, Can.SEE, Can.WORK, Can.TEST), "stdout": said}

    call_command("bench_simulator", rate=100.0, seconds=2.0, chunk=20, lose=0.4, seed=3, **given)

    row = Attempt.objects.get()
    assert stored_trace(row).count("\n") == 201
    assert "200 samples in 10 chunks" in said.getvalue()
    assert " 0 sent again" not in said.getvalue()
    assert said.getvalue().endswith(f"; {row.verdict}.\n")
