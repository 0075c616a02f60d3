"""Check everything: lint, types, migrations, and all tests on SQLite and on real PostgreSQL with Redis."""

import argparse
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import machine
import processes
import servers
from machine import CHECKOUT, PYTHON, say

ENGINES = ("sqlite", "postgresql")


@dataclass
class Report:
    """What was done, in order: the part, its seconds, and what is wrong with it (empty when nothing is)."""

    parts: list[tuple[str, float, str]] = field(default_factory=list)

    def part(self, name: str, work: Callable[[], str]) -> None:
        """Do one part under its heading; a part that fails never keeps the next from running."""
        say(f"\n=== {name}")
        started = time.monotonic()
        try:
            problem = work()
        except servers.Missing as missing:
            problem = str(missing)
        seconds = time.monotonic() - started
        say(f"=== {name}: {seconds:.1f} s, {'FAILED: ' + problem if problem else 'ok'}")
        self.parts.append((name, seconds, problem))

    def close(self) -> int:
        """Print the table of parts; the exit code."""
        say(f"\n{'part':<28}{'seconds':>9}  result")
        for name, seconds, problem in self.parts:
            say(f"{name:<28}{seconds:>9.1f}  {'FAILED: ' + problem.splitlines()[0] if problem else 'ok'}")
        say(f"{'all':<28}{sum(seconds for _, seconds, _ in self.parts):>9.1f}")
        return 1 if any(problem for _, _, problem in self.parts) else 0


def main() -> int:
    """Run every part; the exit code is 0 only when all of them hold."""
    options = read_options()
    processes.interrupt_on_signals()
    os.umask(0o022)  # as root, PostgreSQL runs as another user, which must reach its files
    report = Report()
    try:
        with tempfile.TemporaryDirectory(prefix="ebbwright-tests-", ignore_cleanup_errors=True) as name:
            folder = Path(name)
            folder.chmod(0o755)
            check(report, options, folder)
    except KeyboardInterrupt:
        say("\nStopped before the end; nothing it started is left running.")
        return 130
    return report.close()


def read_options() -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, usage="%(prog)s [--engine NAME] [-- PYTEST ARGUMENTS]"
    )
    parser.add_argument("--engine", choices=ENGINES, help="run the tests on this one only")
    parser.add_argument("pytest", nargs="*", help="arguments for pytest, after --")
    return parser.parse_args()


def check(report: Report, options: argparse.Namespace, folder: Path) -> None:
    """All parts, in order, with our own settings only: a developer's EBBWRIGHT_ variables do not leak in."""
    env = {name: value for name, value in os.environ.items() if not name.startswith("EBBWRIGHT_")}
    report.part("environment", prepare)
    report.part("Chromium", partial(find_chromium, env))
    report.part("curl", servers.curl)
    env["EBBWRIGHT_DATA"] = str(folder / "sqlite")
    for command in ("ruff check", "ruff format --check", "mypy"):
        report.part(command, partial(execute, command.split(), env))
    migrations = "manage.py makemigrations --check --dry-run"
    report.part("makemigrations --check", partial(execute, migrations.split(), env))
    tests = ["pytest", "-n", "2", "--dist", "loadfile", "--no-loadscope-reorder", *options.pytest]
    if options.engine != "postgresql":
        report.part("tests on SQLite", partial(execute, tests, env))
    if options.engine != "sqlite":
        report.part("tests on PostgreSQL", partial(on_postgresql, tests, env, folder))
        report.part("two workers", partial(execute, ["deploy/workers.py"], env))


def prepare() -> str:
    """Make `.venv`; it stops everything when that cannot be done."""
    machine.environment("requirements-tests")
    return ""


def find_chromium(env: dict[str, str]) -> str:
    """Put the browser's path where the tests look for it."""
    env["EBBWRIGHT_CHROMIUM"] = servers.chromium()
    return ""


def on_postgresql(command: list[str], env: dict[str, str], folder: Path) -> str:
    """Run the tests against real PostgreSQL and Redis, started for them unless the environment names some."""
    place = folder / "postgresql"
    place.mkdir()
    with servers.postgresql(place) as database, servers.redis(place) as broker:
        given = {"EBBWRIGHT_DATABASE_URL": database, "EBBWRIGHT_REDIS_URL": broker}
        given |= {"EBBWRIGHT_DATA": str(place / "data")}
        given |= {"PATH": f"{servers.client_programs()}{os.pathsep}{os.environ['PATH']}"}
        return execute(command, {**env, **given})


def execute(command: list[str], env: dict[str, str]) -> str:
    """Run a module or script of the project in `.venv`, its output to ours; a sentence when it fails."""
    module = [] if command[0].endswith(".py") else ["-m"]
    process = subprocess.Popen(
        [PYTHON, *module, *command], cwd=CHECKOUT, env=env, stdin=subprocess.DEVNULL, start_new_session=True
    )
    try:
        code = process.wait()
    except KeyboardInterrupt:
        processes.signal_group(process, signal.SIGINT)  # pytest tidies up on this one only
        with suppress(subprocess.TimeoutExpired):
            process.wait(processes.GRACE_S)
        processes.signal_group(process, signal.SIGKILL)
        raise
    return "" if code == 0 else f"exit code {code}"


if __name__ == "__main__":
    sys.exit(main())
