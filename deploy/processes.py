"""Children that are started, watched and stopped as whole process groups, and the signals that ask for it."""

import os
import signal
import socket
import subprocess
import time
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

from machine import CHECKOUT, say

GRACE_S = 10.0
TAIL_LINES = 20
ASKING = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


@dataclass(frozen=True)
class Child:
    """One started process, leader of its own group, and the file it writes to."""

    name: str
    process: subprocess.Popen[bytes]
    log: Path


def interrupt_on_signals() -> None:
    """Treat SIGTERM and SIGHUP as Ctrl-C, even where a shell had it ignored; a second one is ignored."""

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        ignore_signals()
        raise KeyboardInterrupt

    for number in ASKING:
        signal.signal(number, interrupt)


def ignore_signals() -> None:
    """Let nothing cut the stopping short; GRACE_S bounds it anyway."""
    for number in ASKING:
        signal.signal(number, signal.SIG_IGN)


def start(
    name: str,
    command: Sequence[str | Path],
    log: Path,
    env: dict[str, str] | None = None,
    keep_open: Sequence[int] = (),
) -> Child:
    """Start a process in its own group, so that Ctrl-C reaches us alone and we stop it in order.

    `keep_open` are file descriptors that it inherits.
    """
    with log.open("ab") as sink:
        process = subprocess.Popen(
            command,
            cwd=CHECKOUT,
            env=env,
            stdin=subprocess.DEVNULL,
            stdout=sink,
            stderr=sink,
            pass_fds=keep_open,
            start_new_session=True,
        )
    return Child(name, process, log)


def first_dead(children: Iterable[Child]) -> Child | None:
    """A child that has ended although nobody asked it to."""
    return next((child for child in children if child.process.poll() is not None), None)


def watch(children: Sequence[Child]) -> Child:
    """Wait until a child has died."""
    while (dead := first_dead(children)) is None:
        time.sleep(0.5)
    return dead


def show_log(child: Child) -> None:
    """Print where a child's log is, and its last lines."""
    lines = child.log.read_text(errors="replace").splitlines()[-TAIL_LINES:]
    say(f"The end of {child.log}:")
    say("\n".join(f"  {line}" for line in lines) or "  (empty)")


def stop(children: Sequence[Child]) -> None:
    """End children politely, then by force after GRACE_S seconds in all; with them all that they started."""
    for child in children:
        # Not the whole group: Celery's pool would drop its tasks, where its parent lets them end.
        child.process.terminate()
    deadline = time.monotonic() + GRACE_S
    for child in children:
        with suppress(subprocess.TimeoutExpired):
            child.process.wait(max(0.0, deadline - time.monotonic()))
        signal_group(child.process, signal.SIGKILL)
        child.process.wait()


def signal_group(process: subprocess.Popen[bytes], number: signal.Signals) -> None:
    """Send a signal to a whole process group; one that is gone is fine."""
    with suppress(ProcessLookupError):
        os.killpg(process.pid, number)


def free_port() -> int:
    """A TCP port on the loopback interface that nobody listens on just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
