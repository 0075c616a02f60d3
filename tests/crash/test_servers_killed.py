"""The servers beside us are killed: PostgreSQL, then Redis with all it holds. Only where the workshop uses them."""

import os
import shlex
import signal
import tempfile
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from random import Random
from urllib.parse import urlsplit

import processes
import psycopg
import pytest
import servers
from django.core.management import call_command
from django.db import connection, connections
from django.test import override_settings
from pytest_django.plugin import DjangoDbBlocker

from shop.post.models import Letter
from shop.post.rules import State
from tests.conftest import housed, staffed
from tests.crash.conftest import HASHERS, Counter
from tests.crash.oracle import left_by_check_in, wrong_check_ins
from tests.crash.people import ask, at_work
from tests.crash.rig import KILLS, Redis, Web, chance, tell, until, wake, worker
from tests.crash.test_letters import copies, left, more_than, write
from tests.servers import SmtpSink

TIMES = max(3, KILLS // 15)
LONGEST_DOWN_S = 3.0
FIRST_GOOD_S = 5.0
EMPTY_S = 60.0
pytestmark = pytest.mark.skipif(
    "EBBWRIGHT_DATABASE_URL" not in os.environ, reason="the embedded default has neither of these servers"
)


@dataclass
class Cluster:
    """A PostgreSQL of the test's own, started again as it was started first."""

    data: Path
    url: str

    def kill(self) -> None:
        """Kill the postmaster and all it has started."""
        master = int((self.data / "postmaster.pid").read_text().split()[0])
        own = Path(f"/proc/{master}/task/{master}/children").read_text().split()
        for pid in (master, *map(int, own)):
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        until("PostgreSQL is gone", lambda: not Path(f"/proc/{master}/exe").exists())

    def start(self) -> processes.Child:
        as_user = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"] if os.geteuid() == 0 else []
        (self.data / "postmaster.pid").unlink(missing_ok=True)
        again = shlex.split((self.data / "postmaster.opts").read_text())
        return processes.start("postgresql", [*as_user, *again], self.data.parent / "again.log")

    def ready(self) -> bool:
        with suppress(psycopg.OperationalError), psycopg.connect(self.url, connect_timeout=2):
            return True
        return False


@pytest.fixture
def cluster(
    monkeypatch: pytest.MonkeyPatch, django_db_setup: None, django_db_blocker: DjangoDbBlocker
) -> Iterator[Cluster]:
    """Django's connection leads to a fresh cluster, which is thrown away."""
    monkeypatch.delenv("EBBWRIGHT_DATABASE_URL")
    known, kept = connections.settings["default"], dict(connections.settings["default"])
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name, django_db_blocker.unblock():
        folder = Path(name)
        folder.chmod(0o755)
        with servers.postgresql(folder) as url:
            parts = urlsplit(url)
            connections["default"].close()
            own = {"HOST": parts.hostname, "PORT": parts.port, "USER": parts.username, "PASSWORD": ""}
            known.update(own, NAME=parts.path[1:])
            connections["default"].settings_dict.update(own, NAME=parts.path[1:])
            try:
                call_command("migrate", verbosity=0, skip_checks=True)
                yield Cluster(folder / "cluster", url)
            finally:
                connections["default"].close()
                known.update(kept)
                connections["default"].settings_dict.update(kept)


def test_it_works(cluster: Cluster, tmp_path: Path) -> None:
    """PostgreSQL is killed under check-ins: people are told to come again, and what was acknowledged is there after."""
    rng, seed = chance("postgresql")
    with override_settings(PASSWORD_HASHERS=HASHERS):
        counter = Counter(housed(staffed()))
    web = Web(tmp_path)
    first_good: list[float] = []
    children: list[processes.Child] = []
    try:
        first = ask(web.port, counter.check_ins(1)[0])
        whole, everything = left_by_check_in(first.told["uid"]), [first]
        for _ in range(TIMES):
            work = counter.check_ins(12)
            everything += work
            connection.close()
            at_work(
                web.port,
                work,
                lambda: first_good.append(_down_for_a_while(cluster, web, counter.token, rng, children)),
            )
            connection.close()
            assert wrong_check_ins(work, everything, whole) == [], f"EBBWRIGHT_SEED={seed}"
        said = web.said()
    finally:
        web.stop()
        processes.stop(children)

    away = [each for asked in everything for each in asked.turned_away]
    assert away
    assert {each[0] for each in away} == {"application/problem+json"}
    assert all(each[1] and each[1].isdigit() for each in away)
    assert max(first_good) <= FIRST_GOOD_S
    tell(f"{TIMES} kills, {len(away)} times 503, first good after {max(first_good):.2f} s")
    assert "Internal Server Error" not in said


def _down_for_a_while(
    cluster: Cluster, web: Web, token: str, rng: Random, children: list[processes.Child]
) -> float:
    """Kill it, start it again; how long after it was ready the first good answer came."""
    time.sleep(rng.uniform(0, 0.3))
    cluster.kill()
    time.sleep(rng.uniform(0.5, LONGEST_DOWN_S))
    children.append(cluster.start())
    until("PostgreSQL is ready", cluster.ready)
    return until(
        "a good answer", lambda: web.status("/api/v1/drop-offs", Authorization=f"Token {token}") == 200
    )


def test_it_keeps_checking_in_and_loses_no_letter_without_redis(
    counter: Counter, redis: Redis, smtp_sink: SmtpSink, tmp_path: Path
) -> None:
    """Redis is killed, and comes again empty: the same worker goes on without being started again."""
    rng, seed = chance("redis")
    web = Web(tmp_path, EBBWRIGHT_REDIS_URL=redis.url)
    sender = worker(tmp_path, smtp_sink.url, redis.url)
    longest = 0.0
    try:
        first = ask(web.port, counter.check_ins(1)[0])
        whole, everything = left_by_check_in(first.told["uid"]), [first]
        for n in range(TIMES):
            write(20)
            wake(redis.url)
            until("the worker sends", partial(more_than, smtp_sink, 25 * n))
            redis.kill()
            work = counter.check_ins(4)
            everything += work
            write(5)
            at_work(web.port, work)
            assert [each.tries for each in work] == [1] * 4
            assert wrong_check_ins(work, everything, whole) == [], f"EBBWRIGHT_SEED={seed}"
            time.sleep(rng.uniform(0, LONGEST_DOWN_S))
            redis.start()
            longest = max(longest, until("no letter waits", lambda: _waking(redis), EMPTY_S))
        assert sender.child.process.poll() is None
    finally:
        sender.stop()
        web.stop()

    assert set(copies(smtp_sink).values()) == {1}
    assert left(State.SENT) == Letter.objects.count() == len(smtp_sink.letters)
    tell(f"{TIMES} kills of Redis, outbox empty after {longest:.1f} s at most")


def _waking(redis: Redis) -> bool:
    """Ask once more; whether every letter has gone."""
    wake(redis.url)
    time.sleep(0.2)  # not to fill the broker
    return left(State.SENT) == Letter.objects.count()
