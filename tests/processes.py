"""Real processes that take from one lot at one instant; `python -m tests.processes` is what they run.

One process makes the house ready and forks the others, so that sixteen do not each read the whole of Django.
"""

import json
import multiprocessing
import os
import subprocess
import sys
from pathlib import Path
from urllib.parse import quote

import django
from django.conf import settings
from django.db import connection
from django.test.utils import setup_test_environment
from django.urls import resolve

PATIENCE_S = 60


def environment() -> dict[str, str]:
    """What another process must know to work on the test's database; SQLite's is the file of `real_database`."""
    known = connection.settings_dict
    if connection.vendor == "sqlite":
        return {**os.environ, "EBBWRIGHT_DATA": str(Path(known["NAME"]).parent)}
    user = quote(known["USER"]) + (f":{quote(known['PASSWORD'])}" if known["PASSWORD"] else "")
    address = f"postgresql://{user}@{known['HOST']}:{known['PORT']}/{known['NAME']}"
    return {**os.environ, "EBBWRIGHT_DATABASE_URL": address}


def taken(people: int, lot: str, email: str) -> list[tuple[int, list[str]]]:
    """Status and codes of as many processes, each of which took one piece of the lot at one instant."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.processes", str(people), lot, email],
        env={**environment(), "DJANGO_SETTINGS_MODULE": "shop.settings"},
        cwd=settings.ROOT,
        capture_output=True,
        text=True,
        timeout=2 * PATIENCE_S,
    )
    assert done.returncode == 0, done.stderr
    return [(status, codes) for status, codes in json.loads(done.stdout)]


def act(people: int, lot: str, email: str) -> None:
    """Read everything once, then fork; each process opens its own connection before the instant."""
    django.setup()
    setup_test_environment()
    from shop.staff.models import Person  # noqa: PLC0415 - models are there once Django is set up
    from tests.conftest import Api  # noqa: PLC0415 - likewise

    resolve(f"/api/v1/lots/{lot}/movements")
    context = multiprocessing.get_context("fork")
    barrier, said = context.Barrier(people), context.SimpleQueue()

    def take() -> None:
        api = Api(Person.objects.get(email=email))
        barrier.wait(PATIENCE_S)
        answer = api.post(f"lots/{lot}/movements", {"quantity": 1, "subject": "training"})
        said.put((answer.status_code, [error["code"] for error in answer.json().get("errors", [])]))

    ours = [context.Process(target=take, daemon=True) for _ in range(people)]
    for each in ours:
        each.start()
    for each in ours:
        each.join(PATIENCE_S)
    answers = []
    while not said.empty():
        answers.append(said.get())
    sys.stdout.write(json.dumps(answers))


if __name__ == "__main__":
    act(int(sys.argv[1]), *sys.argv[2:])
