"""The states of a letter and how long to wait before it is tried again. Pure."""

from datetime import timedelta
from enum import StrEnum


class Purpose(StrEnum):
    """Why a letter is written: a reminder asks for consent, the other two do not."""

    REMINDER = "reminder"
    SAFETY = "safety"
    READY = "ready to collect"


class State(StrEnum):
    """Where a letter is on its way out."""

    NEW = "new"
    TAKEN = "taken"
    SENDING = "sending"
    SENT = "sent"
    RETRY = "retry"
    FAILED = "failed"
    SUPPRESSED = "suppressed"
    UNCERTAIN = "uncertain"


LEASE = timedelta(seconds=60)
WAITS = [timedelta(minutes=m) for m in (1, 5, 15, 30, 60, 120, 240)]
MOST_ATTEMPTS = 36  # about five days of waiting


def wait(attempts: int) -> timedelta:
    """How long to wait after the given number of attempts, at least one."""
    return WAITS[min(attempts, len(WAITS)) - 1]
