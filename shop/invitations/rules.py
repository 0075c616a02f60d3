"""How long links hold, and the words of the letters that carry them. Pure."""

from datetime import timedelta

INVITED_FOR = timedelta(days=7)
FORGOTTEN_FOR = timedelta(days=1)
# How long the answer to a forgotten password takes at least: writing a letter to somebody must not be seen in it.
LEAST_S = 0.25


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
