"""Which letters the outbox shows, and what a report of RFC 3464 says about them. Pure."""

import hmac
import re
from base64 import b64encode
from dataclasses import dataclass
from datetime import timedelta
from email import message_from_bytes
from email.message import Message
from enum import StrEnum
from typing import Any

from shop.post.rules import State, folded, header_text
from shop.workshop.rules import Refusal


class Shows(StrEnum):
    """Letters by what became of them."""

    ALL = "all"
    WAITING = "on its way"
    SENT = "sent"
    TROUBLE = "failed or uncertain"
    SUPPRESSED = "suppressed"
    STOPPED = "stopped"


STATES: dict[Shows, tuple[State, ...]] = {
    Shows.ALL: tuple(State),
    Shows.WAITING: (State.NEW, State.TAKEN, State.SENDING, State.RETRY),
    Shows.SENT: (State.SENT,),
    Shows.TROUBLE: (State.FAILED, State.UNCERTAIN),
    Shows.SUPPRESSED: (State.SUPPRESSED,),
    Shows.STOPPED: (State.STOPPED,),
}


def stop_refusals(state: State) -> list[Refusal]:
    """Why a letter cannot be kept from going."""
    if state in (State.NEW, State.RETRY):
        return []
    if state in (State.TAKEN, State.SENDING):
        return [Refusal("going", "This letter is going just now. Look again in a minute.")]
    return [Refusal("not-waiting", f"This letter does not wait to go: it is {state}.")]


def again_refusals(state: State, gone: bool, wanted: bool = True) -> list[Refusal]:
    """Why a letter cannot go once more; `gone`: mail to its address is suppressed; not `wanted`: a reminder to who wants none."""
    found = []
    if state not in (State.FAILED, State.UNCERTAIN, State.SUPPRESSED, State.STOPPED):
        said = f"Only a letter that failed, is uncertain or was kept back goes again: this one is {state}."
        found.append(Refusal("not-kept-back", said))
    if gone:
        said = "Mail to this address comes back. Lift that first, or write to another address."
        found.append(Refusal("suppressed", said))
    if not wanted:
        said = (
            "This is a reminder, and the customer wants none. Ask them, and write down their consent first."
        )
        found.append(Refusal("unwanted", said))
    return found


# Of a report: a letter that came back whole with its files may be longer and is not read.
MOST_BYTES = 256_000
REPORTED_WITHIN = timedelta(days=14)  # of a letter's last try: servers give up after some five days
MOST_IDS = 50  # Message-IDs and envelopes of one report that are looked for; one about a letter of ours names it alone
MOST_TOLD = 50  # recipients of one report that are looked at; our letters have one each


class Fate(StrEnum):
    """What a report says of one recipient."""

    GONE = "the address takes no mail"
    FAILED = "could not be delivered"
    DELAYED = "is being tried still"
    OTHER = "nothing to do"


@dataclass(frozen=True)
class Told:
    """What a report says of one recipient, under each address that it gives them, folded."""

    addresses: frozenset[str]
    fate: Fate
    why: str


@dataclass(frozen=True)
class Report:
    """Which messages a report is about, by their Message-ID or envelope, and what became of each recipient."""

    messages: frozenset[str]
    envelopes: frozenset[str]
    told: tuple[Told, ...]


# A report's action decides, not the first digit of its status (RFC 3464, 2.3.3): the sample of that document has a
# failed one with 4.0.0. Failed means that the last server has given up. These statuses say that it was about a full
# mailbox, the system, the network or the way, the protocol, the content, a policy, a too long message or our own address
# (RFC 3463, 3.2 to 3.8): the recipient's address may be good, so that the letter fails and nothing more. A relay of
# ours that is cut off gives up everybody's letters with one of the network. No status says nothing of the address.
ONLY_THE_LETTER = re.compile(r"$|[245]\.(1\.[78]|2\.[23]|[3-7]\.\d{1,3})(?![0-9.])")


def fate(action: str, status: str) -> Fate:
    """What an Action and a Status come to."""
    said = action.partition("(")[0].strip().lower()
    if said == "failed":
        return Fate.FAILED if ONLY_THE_LETTER.match(status.partition("(")[0].strip()) else Fate.GONE
    return Fate.DELAYED if said == "delayed" else Fate.OTHER


def read_report(raw: bytes) -> Report | None:
    """A message as a report of what became of others, or None: it is none, is too long or cannot be read."""
    if len(raw) > MOST_BYTES:
        return None
    try:
        message = message_from_bytes(raw)  # the older policy: the newer one raises at some Message-IDs
        return _report(message) if message.get_content_type() == "multipart/report" else None
    except (RecursionError, LookupError, ValueError, TypeError, AttributeError):
        return None  # nested without end, or a header that the library itself stumbles over


def _report(message: Message) -> Report | None:
    parts: list[Any] = [each for each in message.get_payload() if isinstance(each, Message)]
    blocks: list[Message] = []
    returned: list[Message] = []
    for part in parts:
        kind, inside = part.get_content_type(), part.get_payload()
        if kind == "message/delivery-status" and isinstance(inside, list):
            blocks += inside
        elif kind == "message/rfc822" and isinstance(inside, list):
            returned += inside
        elif kind == "text/rfc822-headers":
            returned.append(message_from_bytes(part.get_payload(decode=True) or b""))
    if not blocks:
        return None
    envelopes = {_text(each, "Original-Envelope-Id") for each in blocks} - {""}
    ids = {found for each in returned for found in re.findall(r"<[^<>\s]{3,190}>", _text(each, "Message-ID"))}
    return Report(
        frozenset(sorted(ids)[:MOST_IDS]),
        frozenset(sorted(envelopes)[:MOST_IDS]),
        tuple(_told(each) for each in blocks[: MOST_TOLD + 1]),
    )


def _told(block: Message) -> Told:
    """What one block says; that of the message as a whole names no recipient."""
    addresses = {_address(_text(block, f"{which}-Recipient")) for which in ("Final", "Original")} - {""}
    status, diagnostic = _text(block, "Status"), _text(block, "Diagnostic-Code")
    why = " ".join(filter(None, [status.partition("(")[0].strip(), diagnostic or "without a reason"]))
    return Told(frozenset(addresses), fate(_text(block, "Action"), status), why)


def _address(text: str) -> str:
    """The address of "rfc822; maja@lindqvist.example"."""
    return folded(text.rpartition(";")[2].strip(" <>"))


def _text(block: Message, name: str) -> str:
    """A header as one line of ASCII, however it was written; empty where it is missing."""
    return header_text(str(block.get(name, "")).encode("ascii", "replace").decode())[:2000]


TOLERANCE_S = 300


def signature(key: bytes, name: str, timestamp: str, body: bytes) -> str:
    """The signature of Standard Webhooks 1.0.0 over an id, a time and a body."""
    signed = f"{name}.{timestamp}.".encode() + body
    return "v1," + b64encode(hmac.new(key, signed, "sha256").digest()).decode()


def signed_by_us(key: bytes, name: str, timestamp: str, given: str, *, body: bytes, at: int) -> bool:
    """Whether one of the given signatures is right and not older or newer than five minutes; never without a key."""
    if not key or not name or not re.fullmatch(r"[0-9]{1,12}", timestamp):
        return False
    if abs(at - int(timestamp)) > TOLERANCE_S:
        return False
    right = signature(key, name, timestamp, body).encode()
    return any(hmac.compare_digest(each.encode("utf-8", "replace"), right) for each in given.split(" ")[:10])
