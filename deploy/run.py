"""Start Ebbwright from a clean checkout, with a demo workshop at first; Ctrl-C stops all it started."""

import argparse
import fcntl
import http.client
import os
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import urlsplit

import machine
import processes
from machine import CHECKOUT, PYTHON, say
from processes import Child

ALREADY_OPEN = 3  # how `manage.py demo` and `manage.py open_workshop` exit when there is a workshop
ANSWER_S = 60.0


def main() -> int:
    """Start everything, keep watch, stop everything; the exit code is 0 when a person asked it to stop."""
    options = read_options()
    children: list[Child] = []
    processes.interrupt_on_signals()
    try:
        return serve(options, children)
    except KeyboardInterrupt:
        say("\nStopping ...")
        return 0
    finally:
        processes.ignore_signals()
        processes.stop(children)
        if children:
            say(f"Stopped: {', '.join(child.name for child in children)}. The data stay in {options.data}.")


def read_options() -> argparse.Namespace:
    """The command line; the data folder is made absolute."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--empty", action="store_true", help="a workshop with one lead and no demo data")
    parser.add_argument("--port", type=int, default=8710)
    parser.add_argument("--host", default="127.0.0.1", help="where to listen (people use EBBWRIGHT_BASE_URL)")
    parser.add_argument("--data", help="folder for database, letters, keys and logs (default .data)")
    options = parser.parse_args()
    if not 1 <= options.port <= 65535:
        parser.error("--port is a number from 1 to 65535")
    options.data = Path(options.data or os.environ.get("EBBWRIGHT_DATA") or CHECKOUT / ".data").resolve()
    return options


def serve(options: argparse.Namespace, children: list[Child]) -> int:
    """Prepare, start into `children`, and watch; returns only when a child died or no page came."""
    options.data.mkdir(mode=0o700, parents=True, exist_ok=True)
    with (options.data / "run.lock").open("w") as lock:
        refuse_second_run(lock.fileno(), options.data)
        refuse_busy_port(options.host, options.port)
        machine.environment("requirements")
        os.umask(0o077)  # what is kept about customers is for the owner of the data folder alone
        env = child_environment(options)
        manage(env, "migrate", "--no-input")
        todo = commands(options, env)
        children.append(start(options, env, lock.fileno(), "web", todo.pop("web")))
        opened = open_workshop(options, env)  # while the web process warms up, and before any task runs
        for name, command in todo.items():
            children.append(start(options, env, lock.fileno(), name, command))
        if not page_answers(options, env, children):
            return 1
        greet(options, env, opened)
        return died(processes.watch(children))


def start(options: argparse.Namespace, env: dict[str, str], lock: int, name: str, command: str) -> Child:
    """Start one of our modules, its output in the data folder's log; it holds the folder's lock as we do."""
    logs = options.data / "log"
    logs.mkdir(exist_ok=True)
    return processes.start(name, [PYTHON, "-m", *command.split()], logs / f"{name}.log", env, [lock])


def refuse_second_run(lock: int, data: Path) -> None:
    """Exit with a sentence when another run holds the data folder: two beats would do everything twice.

    The children inherit the lock, so it holds until the last of them has ended, even when we were killed.
    """
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        sys.exit(
            f"Ebbwright already runs on {data}: stop that one, or choose another folder with --data. "
            "If its run.py was killed, end the gunicorn and celery processes that it left."
        )


def refuse_busy_port(host: str, port: int) -> None:
    """Exit with a sentence when nothing can listen there."""
    try:
        family, _, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
    except OSError as error:
        sys.exit(f"Port {port} on {host} cannot be used ({error}): choose another with --port.")


def child_environment(options: argparse.Namespace) -> dict[str, str]:
    """Our own environment with the data folder and, unless given, the public address."""
    host = f"[{options.host}]" if ":" in options.host else options.host
    address = os.environ.get("EBBWRIGHT_BASE_URL") or f"http://{host}:{options.port}"
    return {**os.environ, "EBBWRIGHT_BASE_URL": address, "EBBWRIGHT_DATA": str(options.data)}


def manage(env: dict[str, str], *arguments: str) -> None:
    """Run a management command; exits with its output when it fails."""
    problem = machine.failure([PYTHON, CHECKOUT / "manage.py", *arguments], env=env)
    if problem:
        sys.exit(f"manage.py {arguments[0]} failed:\n{problem}")


def open_workshop(options: argparse.Namespace, env: dict[str, str]) -> bool:
    """Fill a new database and keep its sign-ins, for our user alone; False if a workshop was there."""
    command = "open_workshop" if options.empty else "demo"
    part = options.data / "sign-ins.part"
    if command == "demo" and not (options.data / "sign-ins.txt").exists():
        say(
            "Building an invented workshop with three years behind it; this takes two or three minutes, and no page answers before ..."
        )
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as lines:
        done = subprocess.run(
            [PYTHON, CHECKOUT / "manage.py", command, "--skip-checks"],  # migrate has just made them
            env=env,
            stdin=subprocess.DEVNULL,
            stdout=lines,
            stderr=subprocess.PIPE,
        )
    if done.returncode == 0:
        part.rename(options.data / "sign-ins.txt")
        return True
    part.unlink()
    if done.returncode != ALREADY_OPEN:
        sys.exit(f"manage.py {command} failed:\n{done.stderr.decode(errors='replace').strip()}")
    return False


def commands(options: argparse.Namespace, env: dict[str, str]) -> dict[str, str]:
    """What to start, by name. Without Redis one solo worker carries the beat: prefork would need /dev/shm."""
    host = f"[{options.host}]" if ":" in options.host else options.host
    web = f"gunicorn shop.wsgi:application --bind {host}:{options.port} --no-control-socket"
    web += " --worker-class gthread --workers 1 --threads 8"
    worker = "celery -A shop worker --loglevel WARNING"
    if env.get("EBBWRIGHT_REDIS_URL", "").strip():
        return {"web": web, "worker": worker, "beat": "celery -A shop beat --loglevel WARNING --pidfile="}
    return {"web": web, "worker": f"{worker} -B --pool solo --without-gossip --without-mingle"}


def page_answers(options: argparse.Namespace, env: dict[str, str], children: list[Child]) -> bool:
    """Wait for the sign-in page; False, with the reason said, when a child dies or none comes in ANSWER_S."""
    deadline = time.monotonic() + ANSWER_S
    while not answers(options, env["EBBWRIGHT_BASE_URL"]):
        if dead := processes.first_dead(children):
            died(dead)
            return False
        if time.monotonic() > deadline:
            say(f"The sign-in page did not answer within {ANSWER_S:.0f} s.")
            processes.show_log(children[0])
            return False
        time.sleep(0.1)
    return True


def answers(options: argparse.Namespace, base_url: str) -> bool:
    """Whether GET /sign-in answers 200 now, asked as the public address would be asked."""
    public = urlsplit(base_url)
    headers = {"Host": public.netloc, "X-Forwarded-Proto": public.scheme}
    connection = http.client.HTTPConnection(options.host, options.port, timeout=5)
    try:
        connection.request("GET", "/sign-in", headers=headers)
        return connection.getresponse().status == 200
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()


def greet(options: argparse.Namespace, env: dict[str, str], opened: bool) -> None:
    """Print the address and every sign-in that is kept."""
    kept = options.data / "sign-ins.txt"
    say(f"\nEbbwright is at {env['EBBWRIGHT_BASE_URL']}\n")
    if kept.exists():
        say("role, e-mail, password, signing secret:")
        say("\n".join(f"  {line}" for line in kept.read_text().splitlines()))
        say(f"(kept in {kept})")
    if not opened:
        say("The workshop was already open; nothing in it was changed.")
    say(f"Logs are in {options.data / 'log'}. Ctrl-C stops everything.")


def died(child: Child) -> int:
    """Say which child died and what it last wrote; the exit code."""
    code = child.process.returncode
    say(f"\n{child.name} has died ({f'signal {-code}' if code < 0 else f'exit code {code}'}).")
    processes.show_log(child)
    return 1


if __name__ == "__main__":
    sys.exit(main())
