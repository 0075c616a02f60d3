"""A bench that is not there: the pressure of a first stage after a purge, and the logger that sends it."""

import json
import math
import random
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException, HTTPResponse, HTTPSConnection
from typing import Any
from urllib.parse import urlsplit
from uuid import uuid4

PURGED_FROM_S, PURGED_TO_S = 2.0, 5.0
AGAIN_S = 0.2  # after a lost line


@dataclass(frozen=True)
class Stage:
    """A first stage, in bar and seconds: what it locks up at, how fast, how it creeps, and the logger's noise."""

    lock_up_bar: float
    settles_s: float
    creep_bar_min: float
    noise_bar: float = 0.005
    purged_to_bar: float = 5.0

    def pressure_bar(self, t_s: float) -> float:
        """The true pressure at a time after the logger began; the button is pressed from 2 s to 5 s."""
        if t_s < PURGED_FROM_S:
            return self.lock_up_bar
        drop = self.lock_up_bar - self.purged_to_bar
        if t_s < PURGED_TO_S:
            return self.purged_to_bar + drop * math.exp(-(t_s - PURGED_FROM_S) / 0.2)
        after_s = t_s - PURGED_TO_S
        return (
            self.lock_up_bar - drop * math.exp(-after_s / self.settles_s) + self.creep_bar_min / 60 * after_s
        )


def stage(chance: random.Random) -> Stage:
    """One of many: most creep a little, some more than a plan would allow."""
    return Stage(
        lock_up_bar=chance.uniform(9.3, 9.6),
        settles_s=chance.uniform(0.5, 1.5),
        creep_bar_min=chance.choice([0.0, 0.01, 0.02, 0.1]),
    )


class Refusal(Exception):
    """The server answered that it will not."""


class Server:
    """The API as a machine with a token uses it, over one connection that is kept."""

    def __init__(self, site: str, token: str):
        self.site, self.token = site, token
        where = urlsplit(site)
        kind = HTTPSConnection if where.scheme == "https" else HTTPConnection
        self.line = kind(where.hostname or "", where.port, timeout=10)

    def again(self) -> "Server":
        """The same over a connection of its own."""
        return Server(self.site, self.token)

    def ask(self, method: str, path: str, body: Any = None) -> Any:
        """What it answers; OSError while the line is down or the server is busy, Refusal when it says no.

        Asked twice, since the server closes a line that was idle; each question may come twice and is done once.
        """
        headers = {
            "Authorization": f"Token {self.token}",
            "Content-Type": "application/json",
            "Idempotency-Key": f'"{uuid4()}"',
        }
        text = None if body is None else json.dumps(body)
        try:
            answer, said = self._asked(method, path, text, headers)
        except (OSError, HTTPException):
            try:
                answer, said = self._asked(method, path, text, headers)
            except (OSError, HTTPException) as error:
                raise ConnectionError(f"{self.site} does not answer: {error!r}") from error
        if answer.status >= 500 or answer.status == 429:
            raise ConnectionError(f"{self.site} answered {answer.status}.")
        if answer.status >= 400:
            raise Refusal(said.decode())
        return json.loads(said)

    def _asked(
        self, method: str, path: str, text: str | None, headers: dict[str, str]
    ) -> tuple[HTTPResponse, bytes]:
        try:
            self.line.request(method, f"/api/v1/{path}", text, headers)
            answer = self.line.getresponse()
            return answer, answer.read()
        except (OSError, HTTPException):
            self.line.close()  # the next question opens it again
            raise

    def benches(self, test: str) -> Iterator[dict[str, Any]]:
        """Jobs on testing whose plan has such a test, each with an instrument for it."""
        instruments = self.ask("GET", "instruments?limit=200")["results"]
        for job in self.ask("GET", "jobs?limit=200")["results"]:
            if job["leg"] == "testing":
                for each in self.ask("GET", f"jobs/{job['uid']}/sheet")["tests"]:
                    found = [row["uid"] for row in instruments if row["kind"] == each["needs"]]
                    if each["method"] == "intermediate pressure" and each["key"] == test and found:
                        yield {"job": job["uid"], "number": job["number"], "instrument": found[0]}


@dataclass
class Logger:
    """One logger of a stage. `made` keeps when each sample was read, by `time.monotonic`."""

    server: Server
    stage: Stage
    chance: random.Random
    rate_hz: float
    per_chunk: int
    lose: float = 0.0
    chunks: int = 0
    again: int = 0
    made: list[float] = field(default_factory=list)

    def play(self, uid: str, seconds: float) -> None:
        """Log for so long. What is lost on the line is sent again."""
        began, lines = time.monotonic(), []
        for k in range(round(seconds * self.rate_hz)):
            t_s = k / self.rate_hz
            time.sleep(max(0.0, began + t_s - time.monotonic()))
            self.made.append(time.monotonic())
            lines.append(self.line(t_s))
            if len(lines) >= self.per_chunk:
                self.send(uid, lines)
                lines = []
        if lines:
            self.send(uid, lines)

    def line(self, t_s: float) -> str:
        """One sample as a logger writes it."""
        read_bar = self.stage.pressure_bar(t_s) + self.chance.gauss(0.0, self.stage.noise_bar)
        return f"{t_s:.3f},{read_bar:.4f}"

    def send(self, uid: str, lines: list[str]) -> None:
        """Until it has come. Of what is lost, half never came, of the other half only the answer did not."""
        self.chunks += 1
        lost = True
        while lost:
            lost = self.chance.random() < self.lose
            try:
                if not lost or self.chance.random() < 0.5:
                    path = f"loggings/{uid}/chunks/{self.chunks}"
                    self.server.ask("PUT", path, {"samples": "\n".join(lines)})
            except OSError:
                lost = True
            if lost:
                self.again += 1
                time.sleep(AGAIN_S)
