"""An account however its address is written, and the words of the letters about a second factor. Pure."""

import unicodedata
from hashlib import sha256

# What the sign-in library tells of a second factor: its name for it, our verb in the journal, our sentence.
TOLD = {
    "mfa/email/totp_activated": (
        "second factor on",
        "From now on, signing in with your address asks for a code of your app as well.",
    ),
    "mfa/email/totp_deactivated": (
        "second factor off",
        "From now on, your password alone signs you in: no code is asked for any more.",
    ),
    "mfa/email/recovery_codes_generated": (
        "recovery codes made",
        "New recovery codes were made for you; those you had no longer work.",
    ),
}
NOT_YOU = "If that was not you, tell the lead at once."


def told(workshop: str, name: str, sentence: str) -> tuple[str, str]:
    """Subject and text of the letter about a change of somebody's second factor."""
    return f"Your sign-in at {workshop} was changed", f"Hello {name},\n\n{sentence}\n\n{NOT_YOU}\n"


def account(email: str) -> str:
    """An address however it is written: two spellings of one letter are not two accounts."""
    return unicodedata.normalize("NFKC", email).casefold().replace("ı", "i")


def cookie_name(email: str) -> str:
    """The cookie by which a browser is known to an account; a workshop's browser is many people's."""
    return f"known-{sha256(account(email).encode()).hexdigest()[:12]}"
