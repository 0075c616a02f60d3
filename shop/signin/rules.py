"""How long links hold, and the words of the letters about signing in. Pure."""

from datetime import timedelta

INVITED_FOR = timedelta(days=7)
FORGOTTEN_FOR = timedelta(days=1)
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


def invitation(workshop: str, name: str, link: str) -> tuple[str, str]:
    """Subject and text of an invitation."""
    return f"Your sign-in at {workshop}", (
        f"Hello {name},\n\n"
        f"you have been taken on at {workshop}. Choose your password and your signing secret here:\n\n"
        f"{link}\n\n"
        f"The link works once, within {INVITED_FOR.days} days. Give it to nobody.\n"
    )


def forgotten(workshop: str, name: str, link: str) -> tuple[str, str]:
    """Subject and text of the letter to somebody who forgot their password."""
    return f"A new password at {workshop}", (
        f"Hello {name},\n\n"
        f"somebody asked for a new password for your sign-in at {workshop}. Choose it here:\n\n"
        f"{link}\n\n"
        "The link works once, within a day. If you did not ask for it, leave it: nothing has changed.\n"
    )


def told(workshop: str, name: str, sentence: str) -> tuple[str, str]:
    """Subject and text of the letter about a change of somebody's second factor."""
    return f"Your sign-in at {workshop} was changed", f"Hello {name},\n\n{sentence}\n\n{NOT_YOU}\n"
