"""What a private link is for, how long it holds, and its secret. Pure."""

import hashlib
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import Any


class LinkFor(StrEnum):
    """What whoever holds a link may look at or answer."""

    ANSWER = "answer"  # a letter about gear that is due
    PORTHOLE = "porthole"  # a drop-off, where its gear is


# A letter at the first rung must be answerable until after the last: 86 days by the longest ladder, and then some.
HOLDS = {LinkFor.ANSWER: timedelta(days=180), LinkFor.PORTHOLE: timedelta(days=90)}
ONE_CLICK = "/one-click"
BY_LINK = "customer"  # who acts, in the journal: whoever holds a private link of theirs


@dataclass(frozen=True)
class Wanted:
    """A link to be made: for a customer's row, about the uid of a letter or of a drop-off."""

    customer: Any
    purpose: LinkFor
    about: Any


def digest_of(secret: str) -> str:
    """What is kept of a secret. Of its text, so that no other spelling of the same bytes opens anything."""
    return hashlib.sha256(secret.encode(errors="replace")).hexdigest()


def address_of(base: str, purpose: LinkFor, secret: str) -> str:
    """Where a link leads; nothing in it names a row."""
    return f"{base}/{purpose}/{secret}"


def one_click(address: str) -> str:
    """Where a mail program posts to stop reminders (RFC 8058), from the address of an answer."""
    return address + ONE_CLICK
