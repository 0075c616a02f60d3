"""Invite somebody, write to who forgot their password, let the link of a letter choose one."""

from typing import Any
from uuid import uuid4

from django.db import transaction

from shop.invitations import rules
from shop.invitations.reads import holder, link_for, workshop_name
from shop.journal.actions import write
from shop.post.actions import write_letter
from shop.post.rules import Purpose
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
        write_to(person, *rules.invitation(workshop_name(), person.name, link_for(person, rules.INVITED_FOR)))
    return person


def invite_again(*, by: Person, person: Person) -> Person:
    """Write the invitation once more; the link of the letter before dies."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        person = renew_invited(by=by, person=person)
        write_to(person, *rules.invitation(workshop_name(), person.name, link_for(person, rules.INVITED_FOR)))
    return person


def forgotten(*, email: str) -> None:
    """Write to whoever signs in with an address; says nothing of whether there is anybody."""
    with transaction.atomic():
        person = (
            Person.objects.select_for_update().filter(email=email.strip().lower(), is_active=True).first()
        )
        if person is None:
            return
        write_to(
            person, *rules.forgotten(workshop_name(), person.name, link_for(person, rules.FORGOTTEN_FOR))
        )
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


def write_to(person: Person, subject: str, text: str) -> None:
    """Put a letter about signing in into the outbox."""
    write_letter(
        recipient=f"person:{person.uid}",
        address=person.email,
        purpose=Purpose.SIGN_IN,
        run=str(uuid4()),
        subject=subject[:200],
        text=text,
    )
