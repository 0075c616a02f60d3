"""The way out of letters: one connection to the mail server, kept over many, or a folder where none is set. Writes no rows."""

import contextlib
import os
import re
import smtplib
from pathlib import Path
from smtplib import CRLF, SMTPDataError, SMTPRecipientsRefused, SMTPSenderRefused, quoteaddr
from typing import Protocol, Self
from uuid import UUID

from django.conf import settings

_LEADING_DOT = re.compile(rb"(?m)^\.")


class Sealed(Protocol):
    """A letter as it goes: its bytes, to whom, and the id of its envelope (RFC 3461, 4.4)."""

    @property
    def uid(self) -> UUID: ...
    @property
    def address(self) -> str: ...
    @property
    def body(self) -> bytes | memoryview: ...
    @property
    def envelope(self) -> str: ...


class Unanswered(Exception):
    """The end of a letter was sent, or was being sent, and no reply came that says whether the server took it."""


class _Server(smtplib.SMTP):
    """A letter in two parts, so that its sender can do something else while the server looks at the envelope."""

    waited = 0  # how many replies an announced envelope still has to come

    def announce(self, sender: str, sealed: Sealed) -> None:
        """Send the envelope and wait for nothing; all of it where the server takes commands one after the other (RFC 2920).

        Raises OSError, and ValueError for an address that SMTP cannot carry.
        """
        size = [f"size={len(sealed.body)}"] if self.has_extn("size") else []
        named = [f"ENVID={sealed.envelope}"] if self.has_extn("dsn") else []
        said = [" ".join([f"mail FROM:{quoteaddr(sender)}", *size, *named]), *self._rest(sealed)]
        if any(sign in line for line in said for sign in CRLF):
            raise ValueError("An address must not hold a line break.")
        said = said if self.has_extn("pipelining") else said[:1]
        self.send("".join(f"{line}{CRLF}" for line in said))
        self.waited = len(said)

    @staticmethod
    def _rest(sealed: Sealed) -> list[str]:
        return [f"rcpt TO:{quoteaddr(sealed.address)}", "data"]

    def deliver(self, sender: str, sealed: Sealed) -> None:
        """Hear what the server says to the envelope, and hand over the letter.

        Raises what smtplib.SMTP.sendmail does, and Unanswered. A refused letter leaves the connection as it was.
        """
        code, words = self._heard()
        if code != 250:
            self._let_go(code)
            raise SMTPSenderRefused(code, words, sender)
        code, words = self._heard(self._rest(sealed)[0])
        if code not in (250, 251):
            self._let_go(code)
            raise SMTPRecipientsRefused({sealed.address: (code, words)})
        code, words = self._heard("data")
        asked = code == 354
        if asked:
            code, words = self._end(sealed.body)
        if not asked or code // 100 != 2:
            self._let_go(code)
            raise SMTPDataError(code, words)

    def _heard(self, command: str = "") -> tuple[int, bytes]:
        """The next reply; the command that it answers goes first, where it has not gone with those before it."""
        if self.waited:
            self.waited -= 1
        elif command:
            self.putcmd(command)
        return self.getreply()

    def _end(self, body: bytes | memoryview) -> tuple[int, bytes]:
        """What the server says to a whole letter. Any 2xx takes it (RFC 5321, 4.2.1: the first digit decides)."""
        quoted = _LEADING_DOT.sub(b"..", bytes(body))  # RFC 5321, 4.5.2
        try:
            self.send(quoted + (b"" if quoted.endswith(b"\r\n") else b"\r\n") + b".\r\n")
            code, words = self.getreply()
        except OSError as error:
            raise Unanswered(str(error)) from error
        if code // 100 not in (2, 4, 5):
            raise Unanswered(f"{code} {words!r}")
        return code, words

    def _let_go(self, code: int) -> None:
        """After a refusal the next letter finds the connection as new: what came too early is heard first."""
        if code == 421:
            self.close()
            return
        with contextlib.suppress(OSError):
            while self.waited:
                if (
                    self._heard()[0] == 354
                ):  # asked for with nobody to go to (RFC 2920, 3.1): it ends before it began
                    self.docmd(".")
            self.rset()


class Relay:
    """The way out, kept open over letters."""

    server: _Server | None = None
    announced: Sealed | None = None
    used = False

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *raised: object) -> None:
        self.hang_up()

    def hang_up(self) -> None:
        """End the connection; whatever the server says to that, the letters' fate is known by then."""
        if self.server:
            if not self.server.waited:  # one that waits for a letter would take QUIT for its text
                with contextlib.suppress(OSError):
                    self.server.quit()
            self.server.close()
        self.server, self.announced, self.used = None, None, False

    def away(self) -> str:
        """Why the server cannot be reached; empty when it can, and then it waits for no letter that was announced."""
        if settings.SMTP is None or (self.server and self.server.sock and not self.server.waited):
            return ""
        self.hang_up()
        try:
            self.server = _Server(settings.SMTP.hostname, settings.SMTP.port or 25, timeout=15)
            self.server.ehlo_or_helo_if_needed()
        except OSError as error:
            self.hang_up()
            return str(error)
        return ""

    def announce(self, sealed: Sealed) -> None:
        """Say that a letter comes, and wait for nothing; what is wrong with that is found when it is handed over."""
        if self.server and self.server.sock:
            with contextlib.suppress(OSError, ValueError):
                self.server.announce(settings.MAIL_FROM, sealed)
                self.announced = sealed

    def hand_over(self, sealed: Sealed) -> None:
        """Give a letter away. A connection that ended before the letter began is made anew, once.

        Raises smtplib's exceptions, ValueError for an address that SMTP cannot carry (not ASCII: UnicodeError), and Unanswered.
        """
        if settings.SMTP is None:
            _to_folder(settings.LETTERS, sealed)
            return
        try:
            self._say(sealed)
        except (smtplib.SMTPServerDisconnected, SMTPSenderRefused) as error:
            ended = not (self.server and self.server.sock)
            if not ended or not self.used or isinstance(error.__context__, TimeoutError) or self.away():
                raise
            self._say(sealed)
        self.used = True

    def _say(self, sealed: Sealed) -> None:
        if self.server is None:
            raise smtplib.SMTPServerDisconnected("There is no connection.")
        try:
            if self.announced is not sealed:
                self.server.announce(settings.MAIL_FROM, sealed)
            self.announced = None
            self.server.deliver(settings.MAIL_FROM, sealed)
        except (smtplib.SMTPResponseException, SMTPRecipientsRefused):
            raise  # the letter was refused, and the connection is as before
        except BaseException:
            self.server.close()  # nobody knows what the server waits for
            raise


def _to_folder(folder: Path, sealed: Sealed) -> None:
    """Write a file whole or not at all; a second copy replaces the first."""
    folder.mkdir(parents=True, exist_ok=True)
    name = f"{sealed.uid}.eml"
    part = folder / f".{name}.part"
    with part.open("wb") as file:
        file.write(sealed.body)
        file.flush()
        os.fsync(file.fileno())
    part.rename(folder / name)
