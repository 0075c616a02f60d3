"""Whether a browser is known, whether somebody has a second factor, and how its secret is drawn."""

from datetime import timedelta
from typing import Any

import segno
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from django.conf import settings
from django.core.signing import BadSignature, TimestampSigner
from django.http import HttpRequest

from shop.signin.rules import account, cookie_name
from shop.staff.models import Person

KNOWN = timedelta(days=180)


def known_cookie(email: str) -> tuple[str, TimestampSigner]:
    """The name of the cookie by which an account knows a browser, and what signs it for that account alone."""
    prefix = "__Host-" if settings.SESSION_COOKIE_SECURE else ""
    return prefix + cookie_name(email), TimestampSigner(salt=f"known to {account(email)}")


def known_as(request: HttpRequest, email: str) -> str:
    """What a browser that has signed in as this account before is known as; nothing for any other."""
    name, signer = known_cookie(email)
    try:
        return str(signer.unsign(request.COOKIES.get(name, ""), max_age=KNOWN))
    except BadSignature:
        return ""


def has_second_factor(person: Person) -> bool:
    """Whether signing in asks for a code of an app."""
    return bool(Authenticator.objects.filter(user=person, type=Authenticator.Type.TOTP).exists())


def recovery_codes_left(person: Person) -> int:
    """How many recovery codes have not been used."""
    row = Authenticator.objects.filter(user=person, type=Authenticator.Type.RECOVERY_CODES).first()
    return len(row.wrap().get_unused_codes()) if row else 0


class SecondFactor(DefaultMFAAdapter):  # type: ignore[misc]  # the library has no type information
    """How the library draws a secret for a camera: as lines in the page, for no data: image gets past our policy."""

    def build_totp_svg(self, url: str) -> Any:
        drawn = segno.make(url, error="m")
        return drawn.svg_inline(scale=5, border=4, dark="#000", light="#fff", svgclass=None, lineclass=None)
