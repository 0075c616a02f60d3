"""The real server in a process of its own, on a copy of the test's database that can be put back as it was."""

import os
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
import requests
from django.conf import settings
from django.db import connection

from tests.processes import environment

PATIENCE_S = 60


@dataclass
class Served:
    """A server that listens: its address, its process, its data folder."""

    url: str
    process: subprocess.Popen[bytes]
    data: Path

    def put_back(self) -> None:
        """The database as the test made it, whatever was asked of the server since."""
        copy(self.data)

    def memory_mb(self) -> float:
        """What the one web process holds in memory now."""
        said = (self._web() / "status").read_text().partition("VmRSS:")[2]
        return int(said.split()[0]) / 1024

    def worked_s(self) -> float:
        """The processor's time that the one web process has taken, whatever else is done on this machine."""
        parts = (self._web() / "stat").read_text().rpartition(")")[2].split()
        return (int(parts[11]) + int(parts[12])) / os.sysconf("SC_CLK_TCK")

    def _web(self) -> Path:
        parent = self.process.pid
        return Path("/proc", Path(f"/proc/{parent}/task/{parent}/children").read_text().split()[0])


def copy(data: Path) -> None:
    """Copy the test's database over the server's."""
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        with closing(sqlite3.connect(data / "db.sqlite3")) as served:
            connection.connection.backup(served)
        return
    connection.close()  # a database that somebody is connected to cannot be copied
    known: Any = connection.settings_dict
    given = {"user": known["USER"], "password": known["PASSWORD"] or None}
    where = {"host": known["HOST"], "port": known["PORT"], "dbname": "postgres"}
    with closing(psycopg.connect(**where, **given, autocommit=True)) as server:
        server.execute(f'DROP DATABASE IF EXISTS "{known["NAME"]}_served" WITH (FORCE)')
        # A thread of an earlier test may still hold a connection, and a database in use cannot be a template.
        server.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s", [known["NAME"]]
        )
        server.execute(f'CREATE DATABASE "{known["NAME"]}_served" TEMPLATE "{known["NAME"]}"')


@contextmanager
def serving(data: Path) -> Iterator[Served]:
    """Start the server as it is deployed, with one web process; stop it at the end."""
    copy(data)
    env = {**environment(), "EBBWRIGHT_DATA": str(data)}
    if connection.vendor != "sqlite":
        env["EBBWRIGHT_DATABASE_URL"] += "_served"
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        url = f"http://127.0.0.1:{probe.getsockname()[1]}"
    command = f"-m gunicorn shop.wsgi:application --bind {url[7:]} --no-control-socket --threads 4"
    with (data / "server.log").open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, *command.split()], cwd=settings.ROOT, env=env, stdout=log, stderr=log
        )
    try:
        served = Served(url, process, data)
        wait(served)
        yield served
    finally:
        process.terminate()
        process.wait(PATIENCE_S)


def wait(served: Served) -> None:
    """Until it answers."""
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline and served.process.poll() is None:
        try:
            requests.get(f"{served.url}/health/alive", timeout=PATIENCE_S)
            return
        except requests.ConnectionError:
            time.sleep(0.1)
    raise AssertionError((served.data / "server.log").read_text()[-3000:])
