"""Letters to a sink, ours beside a bare loop over one kept connection: `python -m pytest -s tests/post/measure.py`.

EBBWRIGHT_LETTERS says how many (10 000 without it). The two take turns with the same letters; they are counted by Message-ID
where they arrive, in a process of its own.
"""

import os
import smtplib
import sys
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter
from typing import Any
from urllib.parse import urlsplit

from processes import free_port

from shop.post.actions import Draft, send_waiting, write_letters
from shop.post.models import Letter
from shop.post.rules import Purpose
from tests.post.sink import sink

LETTERS, TURNS, BATCH = int(os.environ.get("EBBWRIGHT_LETTERS", "10000")), 5, 500
TEXT = (
    "Dear Maja,\n\nby our records this is due:\n\n" + "- E-00001 Tarnwell Hesk: overhaul, due on 1 May\n" * 12
)


def resident_kb() -> int:
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGESIZE") // 1024


def bare(port: int, rows: list[tuple[str, bytes]]) -> float:
    """How long a loop takes that only hands over what it has in memory."""
    began = perf_counter()
    with smtplib.SMTP("127.0.0.1", port, timeout=15) as server:
        for address, body in rows:
            server.sendmail("workshop@aldermouth.example", [address], body)
    return perf_counter() - began


def ours(count: int) -> float:
    """How long the outbox takes over as many, in batches as beat asks for them."""
    began, sent = perf_counter(), 0
    while sent < count:
        assert (batch := send_waiting(BATCH)), "nothing more goes"
        sent += batch
    return perf_counter() - began


def test_it_works(real_database: None, settings: Any) -> None:
    port, context = free_port(), get_context("spawn")
    here, there = context.Pipe()
    server = context.Process(target=sink, args=(port, there), daemon=True)
    server.start()
    here.recv()
    settings.SMTP = urlsplit(f"smtp://127.0.0.1:{port}")
    each, loop_s, ours_s = LETTERS // TURNS, 0.0, 0.0
    for turn in range(TURNS):
        drafts = [
            Draft(f"c{n}", f"c{n}@aldermouth.example", Purpose.READY, f"turn {turn}", "Gear is due", TEXT)
            for n in range(each)
        ]
        ids = {str(row.message_id) for row in write_letters(drafts=drafts) if row}
        rows = [(row.address, bytes(row.body)) for row in Letter.objects.filter(message_id__in=ids)]
        for way in ("loop", "ours") if turn % 2 else ("ours", "loop"):
            took = bare(port, rows) if way == "loop" else ours(each)
            here.send(True)
            came = here.recv()
            assert set(came) == ids, f"{way}: not all came, or others"
            assert set(came.values()) == {1}, f"{way}: some came twice"
            loop_s, ours_s = loop_s + took * (way == "loop"), ours_s + took * (way == "ours")
        del rows
        told = f"turn {turn + 1}: bare {each * (turn + 1) / loop_s:.0f}/s, ours {each * (turn + 1) / ours_s:.0f}/s"
        sys.stdout.write(f"{told}, ratio {loop_s / ours_s:.2f}, {resident_kb()} kB resident\n")
    here.send(False)
    server.join(10)
