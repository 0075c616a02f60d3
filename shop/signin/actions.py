"""Invite somebody, write to who forgot their password, let a link choose one; and how the library writes by our means."""

from typing import Any
from uuid import uuid4

from allauth.account.adapter import DefaultAccountAdapter
from allauth.usersessions.models import UserSession
from django.contrib.auth import update_session_auth_hash
from django.db import transaction
from django.http import HttpRequest

from shop.journal.actions import write
from shop.post.actions import write_letter
from shop.post.rules import Purpose
from shop.signin import rules
from shop.signin.reads import holder, link_for, workshop_name
from shop.staff.actions import add_invited, choose_words, renew_invited
from shop.staff.models import Person
from shop.staff.reads import require
from shop.staff.rules import Can
from shop.workshop.rules import Refusal, refuse

DEAD = Refusal("link-dead", "This link was used, is too old, or was never one of ours: ask for a new one.")


def invite(*, by: Person, name: str, email: str, roles: list[str]) -> Person:
    """Take somebody on and write them a letter with the link to choose their password and signing secret."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        person = add_invited(by=by, name=name, email=email, roles=roles)
        _send(person, *rules.invitation(workshop_name(), person.name, link_for(person, rules.INVITED_FOR)))
    return person


def invite_again(*, by: Person, person: Person) -> Person:
    """Write the invitation once more; the link of the letter before dies."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        person = renew_invited(by=by, person=person)
        _send(person, *rules.invitation(workshop_name(), person.name, link_for(person, rules.INVITED_FOR)))
    return person


def forgotten(*, email: str) -> None:
    """Write to whoever signs in with an address; says nothing of whether there is anybody."""
    with transaction.atomic():
        person = (
            Person.objects.select_for_update().filter(email=email.strip().lower(), is_active=True).first()
        )
        if person is None:
            return
        _send(person, *rules.forgotten(workshop_name(), person.name, link_for(person, rules.FORGOTTEN_FOR)))
        told: dict[str, Any] = {"subject": f"person:{person.uid}", "by": "", "verb": "password forgotten"}
        write(**told)


def choose(*, key: str, password: str, signing_secret: str | None = None) -> Person:
    """Choose a password, and when invited a signing secret, by the link of a letter; it works once."""
    with transaction.atomic():
        person = holder(key, locked=True)
        if person is None:
            refuse([DEAD])
            raise AssertionError
        invited = not person.has_usable_password()
        if invited and not signing_secret:
            refuse([Refusal("secret-missing", "Choose a signing secret too.", "signing_secret")])
        choose_words(person=person, password=password, signing_secret=signing_secret if invited else None)
    return person


def keep_session(*, request: HttpRequest, person: Person) -> None:
    """Go on with the session of a request although all of the person's sessions have ended; its key changes."""
    update_session_auth_hash(request, person)
    UserSession.objects.create_from_request(request)


def _send(person: Person, subject: str, text: str) -> None:
    """Put a letter about signing in into the outbox."""
    write_letter(
        recipient=f"person:{person.uid}",
        address=person.email,
        purpose=Purpose.SIGN_IN,
        run=str(uuid4()),
        subject=subject[:200],
        text=text,
    )


class Adapter(DefaultAccountAdapter):  # type: ignore[misc]  # the library has no type information
    """What the sign-in library does by our means: nobody signs up, and letters go through the outbox."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def authenticate(self, request: HttpRequest, **credentials: Any) -> Person | None:
        """Somebody who has left is refused like a wrong password; the library would say that they had been here."""
        person = super().authenticate(request, **credentials)
        return person if isinstance(person, Person) and person.is_active else None

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
            _send(person, *rules.told(workshop_name(), person.name, sentence))
            write(subject=f"person:{person.uid}", by=str(person.uid), verb=verb)
