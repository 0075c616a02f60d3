"""Keep a session, know a browser again; and how the sign-in library writes by our means."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib.auth import update_session_auth_hash
from django.db import transaction
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.crypto import get_random_string

from shop.invitations.actions import write_to
from shop.invitations.reads import workshop_name
from shop.journal.actions import write
from shop.signin import rules
from shop.signin.reads import KNOWN, known_as, known_cookie
from shop.staff.models import Person


def keep_session(*, request: HttpRequest, person: Person) -> None:
    """Go on with the session of a request although all of the person's sessions have ended; its key changes."""
    update_session_auth_hash(request, person)
    UserSession.objects.create_from_request(request)


class Adapter(DefaultAccountAdapter):  # type: ignore[misc]  # the library has no type information
    """What the sign-in library does by our means: nobody signs up, and letters go through the outbox."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def authenticate(self, request: HttpRequest, **credentials: Any) -> Person | None:
        """Somebody who has left is refused like a wrong password; the library would say that they had been here."""
        person = super().authenticate(request, **credentials)
        return person if isinstance(person, Person) and person.is_active else None

    def _get_login_attempts_cache_key(self, request: HttpRequest, **credentials: Any) -> str:
        """What wrong tries at an account are counted under; those at a browser that it knows, by themselves.

        Otherwise a stranger who guesses would keep out whoever the account belongs to. The library's key has the host
        that a client names in it, and lets two spellings of one letter count apart.
        """
        email = str(credentials.get("email", ""))
        return f"{rules.account(email)} {known_as(request, email)}"

    def post_login(self, request: HttpRequest, user: Person, **kwargs: Any) -> HttpResponseBase:
        """Whoever got in, second factor included, is known in this browser from now on."""
        answer: HttpResponseBase = super().post_login(request, user, **kwargs)
        name, signer = known_cookie(user.email)
        answer.set_cookie(
            name,
            signer.sign(known_as(request, user.email) or get_random_string(16)),
            max_age=KNOWN,
            secure=settings.SESSION_COOKIE_SECURE,
            httponly=True,
            samesite="Lax",
        )
        return answer

    def is_safe_url(self, url: str) -> bool:
        """Whether somebody who signs in is led there; the library stumbles over an address that is none."""
        try:
            return bool(super().is_safe_url(url))
        except ValueError:
            return False

    def add_message(self, *args: Any, **kwargs: Any) -> None:
        """The library's messages are not ours: our pages say what was done."""

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        raise RuntimeError(f"The library would mail {template_prefix}: letters go through the outbox.")

    def send_notification_mail(
        self,
        template_prefix: str,
        user: Person,
        context: dict[str, Any] | None = None,
        email: str | None = None,
    ) -> None:
        """A change of somebody's second factor is journalled, and told to them in a letter."""
        verb, sentence = rules.TOLD[template_prefix]
        with transaction.atomic():
            person = Person.objects.select_for_update().get(pk=user.pk)
            write_to(person, *rules.told(workshop_name(), person.name, sentence))
            write(subject=f"person:{person.uid}", by=str(person.uid), verb=verb)
