"""What stands in a letter's stored bytes."""

from email import message_from_bytes
from email.message import EmailMessage
from email.policy import SMTP

from shop.post.actions import Attached, Draft, write_letters
from shop.post.rules import Purpose


def test_it_works(db: None) -> None:
    """RFC 2046, 5.1.4: the best alternative last; RFC 2369 and 8058: the way out; RFC 3834, 5: automatic."""
    day = b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"
    draft = Draft(
        recipient="customer-1",
        address="maja@lindqvist.example",
        purpose=Purpose.REMINDER,
        run="2026-05-01",
        subject="Gear is due",
        text="Dear Maja – hello.\n",
        html="<p>Dear Maja – hello.</p>\n",
        unsubscribe="https://desk.example/out/" + "x" * 86,
        files=[Attached("due.ics", "text/calendar", day)],
    )

    (row,) = write_letters(drafts=[draft])

    assert row is not None
    letter = message_from_bytes(bytes(row.body), EmailMessage, policy=SMTP)
    alternatives, calendar = letter.iter_parts()
    text, html = alternatives.iter_parts()
    assert letter.get_content_type() == "multipart/mixed"
    assert [each.get_content_type() for each in (alternatives, text, html, calendar)] == [
        "multipart/alternative", "text/plain", "text/html", "text/calendar",
    ]  # fmt: skip
    assert text.get_content().strip() == "Dear Maja – hello."
    assert html.get_content().strip() == "<p>Dear Maja – hello.</p>"
    assert (calendar.get_filename(), calendar.get_payload(decode=True)) == ("due.ics", day)
    assert letter["List-Unsubscribe"] == f"<{draft.unsubscribe}>"
    assert letter["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert (letter["Auto-Submitted"], letter["X-Auto-Response-Suppress"]) == ("auto-generated", "All")
    assert b"List-Unsubscribe: <https://desk.example/out/xxx" in bytes(row.body)
