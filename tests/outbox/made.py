"""Reports of what came back as servers write them, and the headers of a signed webhook. People and hosts are invented."""

from shop.outbox.rules import signature
from shop.workshop.reads import now

MAJA = "maja@lindqvist.example"


def block(recipient: str = MAJA, action: str = "failed", status: str = "5.1.1", more: str = "") -> str:
    """What a report says of one recipient."""
    return f"Final-Recipient: rfc822; {recipient}\nAction: {action}\nStatus: {status}\n{more}"


def report(
    message_id: str, *blocks: str, envelope: str = "", headers_only: bool = False, kind: str = "Content-Type"
) -> bytes:
    """A report of RFC 3464, section 2, about one message."""
    returned = f"From: desk@aldermouth.example\nMessage-ID: {message_id}\nSubject: Gear is due\n"
    third = "text/rfc822-headers" if headers_only else "message/rfc822"
    of_all = "Reporting-MTA: dns; mx.lindqvist.example\n" + (
        f"Original-Envelope-Id: {envelope}\n" if envelope else ""
    )
    lines = [
        "From: MAILER-DAEMON@mx.lindqvist.example\nSubject: Undelivered\nMIME-Version: 1.0\n"
        f'{kind}: multipart/report; report-type=delivery-status; boundary="b0"\n',
        "--b0\nContent-Type: text/plain\n\nSorry.\n",
        f"--b0\n{kind}: message/delivery-status\n\n" + "\n".join([of_all, *(blocks or (block(),))]),
        f"--b0\nContent-Type: {third}\n\n{returned}\nDear Maja\n",
        "--b0--\n",
    ]
    return "\n".join(lines).replace("\n", "\r\n").encode()


def signed_headers(key: bytes, body: bytes, name: str = "msg_1", at: int | None = None) -> dict[str, str]:
    """The headers of Standard Webhooks over a body."""
    timestamp = str(int(now().timestamp()) if at is None else at)
    return {
        "webhook-id": name,
        "webhook-timestamp": timestamp,
        "webhook-signature": signature(key, name, timestamp, body),
    }
