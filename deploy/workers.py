"""Show two workers, a beat and two web processes sharing the work on PostgreSQL and Redis, all started here for it."""

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path

import machine
import processes
import servers
from machine import CHECKOUT, PYTHON, say
from processes import Child

LETTERS = 1500  # three times as many as one waking sends
WAKINGS = 12
PATIENCE_S = 120.0
SETUP = "import django; django.setup(); "
WRITE = (
    SETUP + "from shop.post.actions import write_letter; from shop.post.rules import Purpose; "
    f"[write_letter(recipient=f'customer:{{n}}', address=f'c{{n}}@aldermouth.example', purpose=Purpose.READY, "
    f"run='shown', subject='Ready', text='Dear {{n}}') for n in range({LETTERS})]"
)
WAKE = f"from shop.celery import app; [app.send_task('shop.post.tasks.sweep') for _ in range({WAKINGS})]"
COUNT = (
    SETUP + "import json; from shop.post.models import Letter; "
    "print(json.dumps([f'{uid} {state} {attempts}' "
    "for uid, state, attempts in Letter.objects.values_list('uid', 'state', 'attempts')]))"
)


def main() -> int:
    """Start everything, give it letters, compare what each worker sent; 0 when each was sent by one of the two."""
    for name in [name for name in os.environ if name.startswith("EBBWRIGHT_")]:
        del os.environ[name]  # a workshop's own database is not for this
    processes.interrupt_on_signals()
    os.umask(0o022)  # as root, PostgreSQL runs as another user, which must reach its files
    machine.environment("requirements-tests")
    children: list[Child] = []
    with tempfile.TemporaryDirectory(prefix="ebbwright-workers-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        folder.chmod(0o755)
        try:
            with servers.postgresql(folder) as database, servers.redis(folder) as broker:
                try:
                    return show(folder, environment(database, broker), children)
                finally:
                    processes.stop(children)
        except servers.Missing as missing:
            say(str(missing))
            return 1


def environment(database: str, broker: str) -> dict[str, str]:
    """The settings that all processes share."""
    return {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "shop.settings",
        "EBBWRIGHT_DATABASE_URL": database,
        "EBBWRIGHT_REDIS_URL": broker,
        "EBBWRIGHT_SECRET_KEY": os.urandom(40).hex(),
        "EBBWRIGHT_BASE_URL": f"http://127.0.0.1:{processes.free_port()}",
        "WEB_CONCURRENCY": "2",
    }


def show(folder: Path, env: dict[str, str], children: list[Child]) -> int:
    """Each process has a data folder of its own, so that the letters in it tell who sent them."""

    def start(name: str, command: str) -> Child:
        own = {**env, "EBBWRIGHT_DATA": str(folder / name)}
        child = processes.start(name, [PYTHON, "-m", *command.split()], folder / f"{name}.log", own)
        children.append(child)
        return child

    run(
        folder, env, "manage.py", "migrate", "--no-input", "--skip-checks"
    )  # this PostgreSQL runs without fsync
    run(folder, env, "manage.py", "check")
    run(folder, env, "-c", WRITE)
    for name in ("one", "two"):
        start(name, f"celery -A shop worker --loglevel WARNING --concurrency 1 --hostname {name}@%h")
    start("beat", "celery -A shop beat --loglevel WARNING --pidfile=")
    bind = env["EBBWRIGHT_BASE_URL"].partition("//")[2]
    web = start(
        "web",
        f"gunicorn shop.wsgi:application --bind {bind} --no-control-socket --worker-class gthread --threads 4",
    )
    wait("two web processes answer", lambda: ask(env, "alive") == 200 and len(web_processes(web)) == 2)
    run(folder, env, "-c", WAKE)
    wait("no letter waits", lambda: all(each.split()[1] == "sent" for each in letters(folder, env)))
    wait("ready, beat and worker included", lambda: ask(env, "ready") == 200)
    killed = web_processes(web)[0]
    os.kill(killed, signal.SIGKILL)
    wait("two web processes again after one was killed", lambda: len({*web_processes(web)} - {killed}) == 2)
    return compared(folder, letters(folder, env))


def compared(folder: Path, rows: list[str]) -> int:
    """What the two workers sent, held against the rows of the outbox."""
    sent = {
        name: {path.stem for path in (folder / name / "letters").glob("*.eml")} for name in ("one", "two")
    }
    written = {each.split()[0] for each in rows}
    again = [each for each in rows if each.split()[2] != "1"]
    doubled, lost = sent["one"] & sent["two"], written - sent["one"] - sent["two"]
    say(f"{len(written)} letters: worker one sent {len(sent['one'])}, worker two {len(sent['two'])}; "
        f"{len(doubled)} doubled, {len(lost)} lost, {len(again)} tried more than once.")  # fmt: skip
    well = sent["one"] and sent["two"] and not doubled and not lost and not again and len(written) == LETTERS
    say("Both worked, nothing was doubled, nothing was lost." if well else "THIS IS NOT AS IT SHOULD BE.")
    return 0 if well else 1


def run(folder: Path, env: dict[str, str], *arguments: str) -> str:
    """What a command of Python's printed; exits with it when the command fails."""
    done = subprocess.run(
        [PYTHON, *arguments],
        cwd=CHECKOUT,
        env={**env, "EBBWRIGHT_DATA": str(folder / "command")},
        capture_output=True,
        text=True,
    )
    if done.returncode:
        sys.exit(f"{' '.join(arguments)[:60]} failed:\n{done.stderr}")
    return done.stdout


def letters(folder: Path, env: dict[str, str]) -> list[str]:
    """Each letter's uid, state and number of attempts."""
    found: list[str] = json.loads(run(folder, env, "-c", COUNT))
    return found


def ask(env: dict[str, str], what: str) -> int:
    """The status of a question about health; 0 when nobody answers."""
    try:
        with urllib.request.urlopen(f"{env['EBBWRIGHT_BASE_URL']}/health/{what}", timeout=10) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as error:
        return error.code
    except OSError:
        return 0


def web_processes(web: Child) -> list[int]:
    """The processes that gunicorn has started."""
    children = Path(f"/proc/{web.process.pid}/task/{web.process.pid}/children")
    return [int(pid) for pid in children.read_text().split()]


def wait(what: str, holds: Callable[[], bool]) -> None:
    """Return once something holds, and say after how long; exits when it does not come in PATIENCE_S."""
    started = time.monotonic()
    while not holds():
        if time.monotonic() - started > PATIENCE_S:
            sys.exit(f"After {PATIENCE_S:.0f} s it still was not so: {what}.")
        time.sleep(0.5)
    say(f"{time.monotonic() - started:5.1f} s: {what}")


if __name__ == "__main__":
    sys.exit(main())
