"""Celery's folders in the data folder: no reader meets a message that is not whole."""

from collections.abc import Iterator
from pathlib import Path
from queue import Empty
from threading import Thread
from typing import Any

import pytest
from celery import Celery

from shop.celery import Transport, broker

MESSAGES = 3000


@pytest.fixture
def channel(tmp_path: Path, settings: Any) -> Iterator[Any]:
    """A channel of the transport that the workshop uses, in folders of its own."""
    settings.DATA, settings.REDIS = tmp_path, None
    made = broker()
    app = Celery("trial", broker=made["broker_url"])
    app.conf.broker_transport_options = made["broker_transport_options"]
    with app.connection() as connection:
        assert isinstance(connection.transport, Transport)
        yield connection.default_channel


def test_it_works(channel: Any) -> None:
    channel._put("bench", {"n": 1})

    assert channel._get("bench") == {"n": 1}
    with pytest.raises(Empty):
        channel._get("bench")


def test_it_is_read_while_it_is_written(channel: Any) -> None:
    def write() -> None:
        for n in range(MESSAGES):
            channel._put("bench", {"n": n, "words": "x" * 2000})

    writer, found = Thread(target=write), list[int]()
    writer.start()
    while len(found) < MESSAGES:
        alive = writer.is_alive()
        try:
            found.append(channel._get("bench")["n"])
        except Empty:
            assert alive, "a message is lost"
    writer.join()

    assert sorted(found) == list(range(MESSAGES))
