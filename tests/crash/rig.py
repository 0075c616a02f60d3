"""Servers and workers that are killed: real processes on the test's database, each ended by its number.

`EBBWRIGHT_KILLS` says how many kills there are in all (60 without it), `EBBWRIGHT_SEED` repeats a run with its chances.
"""

import os
import secrets
import signal
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from random import Random
from urllib.parse import urlsplit

import processes
import servers
from celery import Celery
from django.conf import settings
from django.db import connection
from django.test import override_settings

from shop.celery import broker
from tests.processes import environment

PYTHON = sys.executable
KILLS = int(os.environ.get("EBBWRIGHT_KILLS") or 60)
# A worker misses a dead child after ten seconds, and more of them wait on one another.
PATIENCE_S = 120.0 * max(1, KILLS / 60)
SEED = int(
    os.environ.get("EBBWRIGHT_SEED") or (secrets.randbits(32) if "EBBWRIGHT_KILLS" in os.environ else 4)
)


def tell(words: str) -> None:
    """For whoever runs it by hand, with pytest -s."""
    sys.stdout.write(f"{words}\n")


def chance(name: str) -> tuple[Random, int]:
    """Chances of one test and the seed that repeats them; pytest shows it with -s and when the test fails."""
    tell(f"EBBWRIGHT_SEED={SEED}")
    return Random(f"{SEED} {name}"), SEED


def until(what: str, holds: Callable[[], bool], patience_s: float = PATIENCE_S) -> float:
    """Wait until something holds; after how many seconds it did."""
    started = time.monotonic()
    while not holds():
        assert time.monotonic() - started < patience_s, (
            f"after {patience_s:.0f} s it still was not so: {what}"
        )
        time.sleep(0.02)
    return time.monotonic() - started


class Running:
    """One started command in a process group of its own."""

    def __init__(self, name: str, command: list[str | Path], folder: Path, **more: str):
        self.name, self.command, self.log = name, command, folder / f"{name}.log"
        self.env = {
            **environment(),
            "DJANGO_SETTINGS_MODULE": "shop.settings",
            "EBBWRIGHT_TRIAL": "1",
            **more,
        }
        self.start()

    def start(self) -> None:
        self.child = processes.start(self.name, self.command, self.log, self.env)

    @property
    def own(self) -> list[int]:
        """The processes that it has started, by any of its threads."""
        threads = Path(f"/proc/{self.child.process.pid}/task").glob("*/children")
        with suppress(FileNotFoundError):
            return [int(each) for path in threads for each in path.read_text().split()]
        return []

    def kill_one(self, rng: Random) -> bool:
        """Kill one of the processes that it has started, if there is one just now."""
        own = self.own
        with suppress(ProcessLookupError):
            if own:
                os.kill(rng.choice(own), signal.SIGKILL)
                return True
        return False

    def kill(self) -> None:
        """Kill it and all that it has started."""
        processes.signal_group(self.child.process, signal.SIGKILL)
        self.child.process.wait()

    def stop(self) -> None:
        processes.stop([self.child])

    def said(self) -> str:
        return self.log.read_text(errors="replace")


class Web(Running):
    """gunicorn; of its processes' deaths by SIGKILL it keeps the count itself."""

    def __init__(self, folder: Path, failpoint: str = "", **more: str):
        self.port = processes.free_port()
        command = f"-m gunicorn tests.crash.web:application --preload --bind 127.0.0.1:{self.port} --no-control-socket"
        threads = "--worker-class gthread --threads 4 --log-level warning"
        super().__init__(
            f"web-{self.port}",
            [PYTHON, *f"{command} {threads}".split()],
            folder,
            EBBWRIGHT_BASE_URL=f"http://127.0.0.1:{self.port}",
            EBBWRIGHT_FAILPOINT=failpoint,
            **({"WEB_CONCURRENCY": "1" if connection.vendor == "sqlite" else "2"} | more),
        )
        until("the web server answers", lambda: self.status("/health/alive") == 200)

    def status(self, path: str, **headers: str) -> int:
        """What a GET is answered; 0 when nobody answers."""
        assert self.child.process.poll() is None, self.said()
        with suppress(OSError, HTTPException):
            asked = HTTPConnection("127.0.0.1", self.port, timeout=10)
            asked.request("GET", path, headers=headers)
            return asked.getresponse().status
        return 0

    @property
    def deaths(self) -> int:
        return self.said().count("was sent SIGKILL")


class Redis(Running):
    """A Redis of the test's own, which keeps nothing."""

    def __init__(self, folder: Path):
        self.port = processes.free_port()
        options = f"--port {self.port} --bind 127.0.0.1 --appendonly no --dir {folder}".split()
        super().__init__("redis", [servers.redis_binary(), *options, "--save", ""], folder)
        self.url = f"redis://127.0.0.1:{self.port}/0"

    def start(self) -> None:
        super().start()
        servers.wait_for_redis(self.child, self.port)


def worker(folder: Path, smtp: str, redis: str, failpoint: str = "") -> Running:
    """A worker that hands letters to the sink; its settings are those of a workshop that may send."""
    command = "-m celery -A shop worker --loglevel WARNING --concurrency 1"
    return Running(
        "worker",
        [PYTHON, *command.split()],
        folder,
        EBBWRIGHT_BASE_URL="https://workshop.example",
        EBBWRIGHT_HTTPS="1",
        EBBWRIGHT_SMTP_URL=smtp,
        EBBWRIGHT_MAIL_FROM="desk@aldermouth.org",
        EBBWRIGHT_REDIS_URL=redis,
        EBBWRIGHT_FAILPOINT=failpoint,
    )


def wake(redis: str) -> None:
    """Ask the worker to send what waits, as beat does every half minute."""
    given = {"DATA": Path(environment().get("EBBWRIGHT_DATA") or settings.DATA)}
    with (
        override_settings(REDIS=urlsplit(redis) if redis else None, **given),
        Celery(set_as_current=False) as app,
    ):
        app.conf.update(**broker(), task_publish_retry=False)
        app.send_task("shop.post.tasks.sweep")
