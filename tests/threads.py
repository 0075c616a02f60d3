"""People who act at the same instant: threads with a database connection each, on a real file or server."""

import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Barrier, Thread
from typing import Any, TypeVar

import pytest
from django.db import connection, connections

PATIENCE_S = 60
T = TypeVar("T")


@pytest.fixture
def real_database(transactional_db: None, tmp_path: Path) -> Iterator[None]:
    """A database that several connections share: PostgreSQL as it is, SQLite as a file with the house's own pragmas.

    The test database of SQLite lives in memory, where locks work in another way; its schema is copied into a file.
    """
    if connection.vendor != "sqlite":
        yield
        return
    memory, name = connections["default"], connection.settings_dict["NAME"]
    path = str(
        tmp_path / "db.sqlite3"
    )  # as a data folder has it, so that other processes can be pointed to it
    memory.ensure_connection()
    with sqlite3.connect(path) as copy:
        memory.connection.backup(copy)
    copy.close()
    settings = connections.settings["default"]
    settings["NAME"] = path
    connections["default"] = connections.create_connection("default")
    try:
        yield
    finally:
        connections["default"].close()
        settings["NAME"] = name
        connections["default"] = memory


def together(people: int, act: Callable[[int], T]) -> list[T]:
    """What `act(0)` to `act(people - 1)` returned, each called in a thread of its own at one instant.

    What a thread raises fails the test, and so does a thread that has not ended within PATIENCE_S seconds.
    """
    barrier = Barrier(people)
    found: dict[int, T] = {}
    raised: list[BaseException] = []

    def run(i: int) -> None:
        try:
            connection.ensure_connection()
            barrier.wait(PATIENCE_S)
            found[i] = act(i)
        except BaseException as error:  # noqa: BLE001 - raised again in the test's own thread
            raised.append(error)
        finally:
            connections.close_all()

    threads = [Thread(target=run, args=(i,), daemon=True) for i in range(people)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE_S)
    if raised:
        raise raised[0]
    assert sorted(found) == list(range(people)), "somebody did not finish in time"
    return [found[i] for i in range(people)]


def statuses(answers: list[Any]) -> dict[int, int]:
    """How often each status was answered."""
    return {code: sum(a.status_code == code for a in answers) for code in {a.status_code for a in answers}}
