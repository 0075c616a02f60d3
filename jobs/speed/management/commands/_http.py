"""The queue over HTTP: two server processes, eight clients, ours and what it is compared with in turns, twice."""

import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from http.client import HTTPConnection
from time import perf_counter, sleep

from django.conf import settings

CLIENTS, SECONDS, TURNS = 8, 5.0, 3  # the first turn only warms up
PATHS = ("/api/v1/queue?of=me", "/raw/queue", "/raw/facts", "/raw/nothing")


def served(token: str) -> Iterator[str]:
    """Requests a second of each, and their ratios."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    options = ["-b", f"127.0.0.1:{port}", "-w", "2", "--threads", "4", "--worker-class", "gthread"]
    server = subprocess.Popen(  # noqa: S603 - our own server with figures of ours
        [sys.executable, "-m", "gunicorn", *options, "jobs.speed.management.commands._wsgi:application"],
        cwd=settings.ROOT, env=os.environ, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        _wait(port)
        for turn in range(TURNS):
            ours, raw, same, floor = (_rate(port, path, token) for path in PATHS)
            if turn == 0:
                continue
            yield (
                f"queue over HTTP, turn {turn}: ours {ours:.0f} requests/s, raw {raw:.0f}, ratio {ours / raw:.2f} "
                f"({'met' if ours >= 0.65 * raw else 'MISSED'}: 0.65 at least); the same statements {same:.0f}, "
                f"ratio {ours / same:.2f}; a door with nothing behind it {floor:.0f}"
            )
    finally:
        server.terminate()
        server.wait()


def _wait(port: int) -> None:
    for _ in range(100):
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            sleep(0.2)
    raise RuntimeError("The server did not come up.")


def _rate(port: int, path: str, token: str) -> float:
    """Requests a second that all clients together get answered."""
    begun = perf_counter()
    with ThreadPoolExecutor(CLIENTS) as pool:
        counts = list(pool.map(lambda _: _asks(port, path, token, begun + SECONDS), range(CLIENTS)))
    return sum(counts) / (perf_counter() - begun)


def _asks(port: int, path: str, token: str, until: float) -> int:
    """One client that asks again and again over one connection."""
    link, count = HTTPConnection("127.0.0.1", port, timeout=30), 0
    while perf_counter() < until:
        link.request("GET", path, headers={"Authorization": f"Token {token}", "Host": "localhost"})
        answer = link.getresponse()
        answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{path}: {answer.status}")
        count += 1
    return count
