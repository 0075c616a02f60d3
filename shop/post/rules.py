"""The states of a letter and how long to wait before it is tried again. Pure."""

import re
from datetime import timedelta
from enum import StrEnum


class Purpose(StrEnum):
    """Why a letter is written: a reminder asks for consent, the others do not."""

    REMINDER = "reminder"
    SAFETY = "safety"
    READY = "ready to collect"
    BOOKING = "booking"
    DROP_OFF = "drop-off"
    ORDER = "order"
    SIGN_IN = "sign-in"  # holds a link that lets its reader in: nobody else is shown the text


# Letters with a link that needs no account; what a take-out would hand on with their texts.
WITH_A_LINK = frozenset({Purpose.SIGN_IN, Purpose.REMINDER, Purpose.BOOKING, Purpose.DROP_OFF})


def without_secrets(text: str) -> str:
    """A text with the private links of customers cut, so that whoever reads it cannot follow them."""
    return re.sub(r"/(answer|porthole)/[\w-]+", r"/\1/…", text)


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
    STOPPED = "stopped"


def header_text(text: str) -> str:
    """A text that can stand in a header: one line, and no encoded word, which Python would decode into a line break."""
    return re.sub(r"[\s\0-\x1f\x7f-\x9f]+", " ", text).replace("=?", "= ?").strip()


# A machine wrote it (RFC 3834, 5); the second line is some vendors' own, which keeps their automatic answers away.
AUTOMATIC = {"Auto-Submitted": "auto-generated", "X-Auto-Response-Suppress": "All"}


def way_out(address: str) -> dict[str, str]:
    """The headers that lead out of such letters (RFC 2369, 3.2); the press that asks nothing more needs https (RFC 8058, 3.1).

    The address goes into a header as it is, so one with a space, a line break or a bracket in it is refused.
    """
    if not address:
        return {}
    if not re.fullmatch(r"https?://[!-;=?-~]{1,900}", address):
        raise ValueError("The way out of a letter must be an absolute address.")
    headers = {"List-Unsubscribe": f"<{address}>"}
    if address.startswith("https:"):
        headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    return headers


# Of RFC 3463, 3.2 and RFC 7505, 4.2 those that say the recipient's address does not exist or takes no mail. The others
# of that family speak of an ambiguous or a good address, or of the sender's (5.1.7, 5.1.8).
NO_SUCH_ADDRESS = re.compile(r"\s*5\.1\.(1|2|3|6|10)(?![0-9.])")


def folded(address: str) -> str:
    """An address as it is compared: in practice no mail server tells capitals apart."""
    return address.strip().casefold()


LEASE = timedelta(seconds=60)
WAITS = [timedelta(minutes=m) for m in (1, 5, 15, 30, 60, 120, 240)]
MOST_ATTEMPTS = 36  # about five days of waiting


def wait(attempts: int) -> timedelta:
    """How long to wait after the given number of attempts, at least one."""
    return WAITS[min(attempts, len(WAITS)) - 1]


def refused(code: int) -> State:
    """What a reply about the recipient or the letter means: a 5xx is final, anything else is tried again."""
    return State.FAILED if 500 <= code < 600 else State.RETRY


def after(outcome: State, attempt: int, uncertain_before: bool) -> State:
    """Where an attempt that did not send leaves a letter.

    One that the server may have is sent once more, then rests for people; five days of refusals end it.
    """
    if outcome is State.UNCERTAIN and not uncertain_before and attempt < MOST_ATTEMPTS:
        return State.RETRY
    if outcome is State.RETRY and attempt >= MOST_ATTEMPTS:
        return State.FAILED
    return outcome
