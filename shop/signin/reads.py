"""Whether somebody has a second factor, and how its secret is drawn."""

from typing import Any

import segno
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator

from shop.staff.models import Person


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
