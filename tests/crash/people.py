"""People at their screens: each request has a key and is sent again, with that key, until somebody answers it."""

import json
import socket
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from typing import Any
from uuid import uuid4

from tests.crash.rig import PATIENCE_S

MANY = 4


@dataclass
class Asked:
    """One thing that somebody wants done, and what they were told in the end."""

    path: str
    token: str
    body: dict[str, Any]
    seen: int | None = None
    key: str = field(default_factory=lambda: str(uuid4()))
    status: int = 0
    told: dict[str, Any] = field(default_factory=dict)
    replayed: bool = False
    tries: int = 0
    turned_away: list[tuple[str, str | None]] = field(
        default_factory=list
    )  # media type, Retry-After of each 503

    @property
    def request(self) -> tuple[str, str, str, dict[str, str]]:
        headers = {
            "Authorization": f"Token {self.token}",
            "Content-Type": "application/json",
            "Idempotency-Key": f'"{self.key}"',
        }
        headers |= {} if self.seen is None else {"If-Match": f'"{self.seen}"'}
        return "POST", f"/api/v1/{self.path}", json.dumps(self.body), headers


def ask(port: int, asked: Asked) -> Asked:
    """Send until answered; 503 and a lost connection are no answer."""
    ends = time.monotonic() + PATIENCE_S
    while time.monotonic() < ends:
        asked.tries += 1
        with suppress(OSError, HTTPException):
            connection = HTTPConnection("127.0.0.1", port, timeout=30)
            connection.request(*asked.request)
            answer = connection.getresponse()
            text = answer.read()
            if answer.status == 503:
                asked.turned_away.append((answer.headers["Content-Type"], answer.headers["Retry-After"]))
            else:
                asked.status, asked.told = answer.status, json.loads(text)
                asked.replayed = answer.headers["Idempotent-Replay"] == "true"
                return asked
        time.sleep(0.02)
    raise AssertionError(f"nobody answered {asked.path} in {PATIENCE_S:.0f} s")


def ask_and_lose_the_answer(port: int, asked: Asked) -> None:
    """Send, wait for the answer's first byte (so the work is committed), and hang up without having read it."""
    asked.tries += 1
    connection = HTTPConnection("127.0.0.1", port, timeout=30)
    connection.request(*asked.request)
    assert isinstance(connection.sock, socket.socket)
    assert connection.sock.recv(1)
    connection.close()


def at_work(
    port: int, work: Sequence[Asked], meanwhile: Callable[[], None] = lambda: None
) -> Sequence[Asked]:
    """Let several people do the work while something else is done; returns once everything is answered."""
    with ThreadPoolExecutor(MANY) as people:
        going = [people.submit(ask, port, each) for each in work]
        meanwhile()
        return [each.result() for each in going]
