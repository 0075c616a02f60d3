"""Time-based codes against RFC 6238, Appendix B (https://www.rfc-editor.org/rfc/rfc6238#appendix-B), mode SHA-1."""

import base64
import hashlib
import hmac
import time

import pytest
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value


def totp(secret: bytes, seconds: int, digits: int) -> str:
    """RFC 6238 over RFC 4226, written from the two texts: 30 s steps from the epoch, dynamic truncation."""
    mac = hmac.new(secret, (seconds // 30).to_bytes(8, "big"), hashlib.sha1).digest()
    start = mac[19] & 15
    number = int.from_bytes(mac[start : start + 4], "big") % 2**31
    return str(number % 10**digits).rjust(digits, "0")


def totp_of(secret: str, *, ago: int = 0) -> str:
    """The six digits that an app shows now, or showed some seconds ago, for a secret as it is typed into it."""
    return totp(base64.b32decode(secret), int(time.time()) - ago, 6)


SECRET = b"12345678901234567890"
VECTORS = {
    59: "94287082",
    1111111109: "07081804",
    1111111111: "14050471",
    1234567890: "89005924",
    2000000000: "69279037",
    20000000000: "65353130",
}


@pytest.mark.parametrize(("seconds", "code"), VECTORS.items())
def test_it_works(seconds: int, code: str) -> None:
    assert totp(SECRET, seconds, 8) == code


@pytest.mark.parametrize(("seconds", "code"), VECTORS.items())
def test_it_finds_the_library_in_step(seconds: int, code: str) -> None:
    """Six digits are the last six of the eight: both are remainders of the same number."""
    secret = base64.b32encode(SECRET).decode()

    assert format_hotp_value(hotp_value(secret, seconds // 30)) == code[2:]
