"""The Celery application: it wakes up work that waits in the database."""

import os
from pathlib import Path
from time import monotonic_ns
from typing import Any
from uuid import uuid4

from celery import Celery
from django.conf import settings
from kombu.transport import TRANSPORT_ALIASES, filesystem
from kombu.utils.json import dumps

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")


class Folders(filesystem.Channel):
    """The library's folders, but a message has its name only once it is whole: a reader of half a one would die."""

    def _put(self, queue: Any, payload: Any, **kwargs: Any) -> None:  # type: ignore[override]  # it has two names there
        path = Path(self.data_folder_out) / f"{monotonic_ns() // 1_000_000}_{uuid4()}.{queue}.msg"
        draft = path.with_name(f"{path.name}.draft")
        draft.write_text(dumps(payload))  # type: ignore[no-untyped-call]  # kombu has no types here
        draft.replace(path)


class Transport(filesystem.Transport):
    """Folders as a transport that Celery finds under its name."""

    Channel = Folders


TRANSPORT_ALIASES["folders"] = "shop.celery:Transport"


def broker() -> dict[str, Any]:
    """Celery's transport: Redis, or folders in the data folder. It only wakes the worker; work is in the database."""
    if settings.REDIS:
        return {
            "broker_url": settings.REDIS.geturl(),
            "broker_transport_options": {
                "visibility_timeout": 300,
                "unacked_restore_interval": 5,
                "unacked_restore_throttle": 1,
                "socket_timeout": 30,
                "socket_keepalive": True,
            },
        }
    folder = settings.DATA / "broker"
    for name in ("messages", "processed", "control"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    return {
        "broker_url": "folders://",
        "broker_transport_options": {
            "data_folder_in": str(folder / "messages"),
            "data_folder_out": str(folder / "messages"),
            "processed_folder": str(folder / "processed"),
            "control_folder": str(folder / "control"),
            "polling_interval": 0.2,
        },
    }


def every(seconds: float, task: str) -> dict[str, Any]:
    """A beat entry; a message that waited until the next one is dropped, so that none pile up for a late worker."""
    return {"task": task, "schedule": seconds, "options": {"expires": seconds}}


CELERY: dict[str, Any] = {
    **broker(),
    "task_ignore_result": True,
    "task_acks_late": True,
    "task_reject_on_worker_lost": True,
    "worker_prefetch_multiplier": 1,
    "task_time_limit": 240,
    "task_soft_time_limit": 180,
    "broker_connection_retry_on_startup": True,
    "beat_schedule_filename": str(settings.DATA / "beat-schedule"),
    "task_serializer": "json",
    "accept_content": ["json"],
    "timezone": "UTC",
    "beat_schedule": {
        "sweep the outbox": every(30.0, "shop.post.tasks.sweep"),
        "read what came back": every(60.0, "shop.outbox.tasks.sweep"),
        "write the letters of the day": every(900.0, "jobs.reminders.tasks.daily"),
        "write to whoever comes tomorrow": every(900.0, "jobs.bookings.tasks.day_before"),
        "ask again about what was found": every(900.0, "jobs.quotes.tasks.nudge"),
        "show that a worker works": every(60.0, "shop.health.tasks.heartbeat"),
        "go on with safety notices": every(5.0, "jobs.safety.tasks.sweep"),
        "write the letters of safety notices": every(5.0, "jobs.matches.tasks.sweep"),
        "go on with what is brought in": every(5.0, "jobs.bringin.tasks.sweep"),
        "unlink what was erased": every(600.0, "jobs.rights.tasks.sweep"),
        "forget old answers": every(3600.0, "shop.api.tasks.forget"),
    },
}
app = Celery("ebbwright")
app.conf.update(CELERY)
app.autodiscover_tasks()
