"""Letters while any process of the house is killed, or the mail server stays away: by hand, for it takes long.

`EBBWRIGHT_KILLS=500 python -m pytest -s tests/crash/any_of_them.py` on PostgreSQL and Redis of its own: the worker, its child, one of two
beats, Redis with all it holds, and PostgreSQL die in an order of chance. `EBBWRIGHT_AWAY_S` says for how long nobody answers
where the mail server was (1 800 s without it).
"""

import os
import socketserver
import time
from collections import Counter
from functools import partial
from pathlib import Path
from threading import Thread

import processes
from aiosmtpd.controller import Controller
from django.db import connection
from django.db.models import Max

from shop.post.models import Letter
from shop.post.rules import State
from tests.crash.conftest import real_database as real_database
from tests.crash.rig import KILLS, PYTHON, Redis, Running, chance, tell, until, wake, worker
from tests.crash.test_letters import copies, go_on, left, more_than, resting, write, wrong
from tests.crash.test_servers_killed import Cluster
from tests.crash.test_servers_killed import cluster as cluster
from tests.servers import SmtpSink

AWAY_S = int(os.environ.get("EBBWRIGHT_AWAY_S") or 1800)
RATHER = {"child": 4, "worker": 2, "beat": 1, "redis": 1, "database": 1}  # how often each, beside the others


def beat(folder: Path, name: str, redis: str) -> Running:
    """A clock that wakes the worker; two of them share no schedule."""
    command = f"-m celery -A shop beat --loglevel WARNING --schedule {folder / name}"
    more = {
        "EBBWRIGHT_REDIS_URL": redis,
        "EBBWRIGHT_BASE_URL": "https://workshop.example",
        "EBBWRIGHT_HTTPS": "1",
    }
    return Running(name, [PYTHON, *command.split()], folder, **more)


def test_it_loses_nothing_when_any_is_killed(cluster: Cluster, smtp_sink: SmtpSink, tmp_path: Path) -> None:
    rng, seed = chance("any of them")
    redis = Redis(tmp_path)
    sender = worker(tmp_path, smtp_sink.url, redis.url)
    beats = [beat(tmp_path, name, redis.url) for name in ("first-beat", "second-beat")]
    children: list[processes.Child] = []
    died: Counter[str] = Counter()
    try:
        while died.total() < KILLS:
            if left(State.NEW) < 40:
                write(40)
            until("the worker sends again", partial(_goes_on, smtp_sink, len(smtp_sink.letters), redis.url))
            time.sleep(rng.uniform(0.02, 0.3))
            who = rng.choices(list(RATHER), list(RATHER.values()))[0]
            if who == "child":
                died[who] += sender.kill_one(rng)
                continue
            died[who] += 1
            if who == "database":
                connection.close()
                cluster.kill()
                children.append(cluster.start())
                until("PostgreSQL is ready", cluster.ready)
                continue
            one = {"worker": sender, "redis": redis, "beat": rng.choice(beats)}[who]
            one.kill()
            one.start()
        for each in [sender, *beats]:
            each.stop()
        go_on(tmp_path, smtp_sink, redis.url, State.UNCERTAIN)
        went = copies(smtp_sink)
        doubles = went.total() - len(went)
        tell(f"{dict(died)}: {Letter.objects.count()} letters, {doubles} doubles; {resting(smtp_sink)}")
        assert wrong(smtp_sink, died.total(), State.UNCERTAIN) == [], f"EBBWRIGHT_SEED={seed}"
    finally:
        for each in [sender, *beats, redis]:
            each.stop()
        connection.close()
        processes.stop(children)


def _goes_on(sink: SmtpSink, seen: int, redis: str) -> bool:
    """Wake the worker; whether it has sent more since. A letter in doubt waits for its minute, so others are written."""
    wake(redis)
    time.sleep(0.1)
    if not left(State.NEW):
        write(5)
    return more_than(sink, seen)


class _Away(socketserver.ThreadingTCPServer):
    """Where the mail server was: takes a connection, ends it, and counts."""

    allow_reuse_address = True
    asked: list[float]


class _Ends(socketserver.BaseRequestHandler):
    def handle(self) -> None:
        assert isinstance(self.server, _Away)
        self.server.asked.append(time.monotonic())


def test_it_waits_for_the_mail_server(real_database: None, redis: Redis, tmp_path: Path) -> None:
    port = processes.free_port()
    sink = SmtpSink(url=f"smtp://127.0.0.1:{port}")
    away = _Away(("127.0.0.1", port), _Ends)
    away.asked = []
    Thread(target=away.serve_forever, daemon=True).start()
    write(200)
    sender, clock = worker(tmp_path, sink.url, redis.url), beat(tmp_path, "beat", redis.url)
    try:
        time.sleep(AWAY_S)
        away.shutdown()
        away.server_close()
        controller = Controller(sink, hostname="127.0.0.1", port=port)
        controller.start()
        took = until("every letter has gone", lambda: left(State.SENT) == 200, 7200)
        controller.stop()
    finally:
        sender.stop()
        clock.stop()
    tries = Letter.objects.aggregate(most=Max("attempts"))["most"]
    tell(
        f"{AWAY_S} s away: {len(away.asked)} connections, all gone {took:.0f} s after, {tries} attempts at most"
    )
    assert wrong(sink, 0) == []
    assert len(away.asked) <= AWAY_S / 60 + 2
