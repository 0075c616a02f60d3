"""Take people on, authorise them, make and end their tokens."""

from datetime import date, timedelta
from typing import Any

from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from shop.journal.actions import write
from shop.staff.models import Authorisation, Person, PersonRole, Token
from shop.staff.reads import require
from shop.staff.rules import RIGHTS, Actor, Can, Role
from shop.workshop.reads import now
from shop.workshop.rules import Refusal, refuse

TAKEN = Refusal("email-taken", "Somebody signs in with this address already.", "email")


def add_person(
    *, by: Person | None, name: str, email: str, password: str, signing_secret: str, roles: list[str]
) -> Person:
    """Take somebody on; `by` is None only for the first lead, while there is nobody."""
    if by is not None:
        require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        email = email.strip().lower()
        refuse([*_person_refusals(by, name, email, password, signing_secret), *_beyond(by, roles)])
        person = Person(email=email, name=name, signing_secret=make_password(signing_secret))
        person.set_password(password)
        try:
            with transaction.atomic():
                person.save()
        except IntegrityError:  # somebody else was faster by an instant
            refuse([TAKEN])
        PersonRole.objects.bulk_create([PersonRole(person=person, role=role) for role in sorted(set(roles))])
        who = str(by.uid if by else person.uid)
        write(
            subject=f"person:{person.uid}",
            by=who,
            verb="taken on",
            facts={"roles": sorted(set(roles))},
            words={"name": name, "email": email},
        )
    return person


def _beyond(by: Person | None, roles: list[str]) -> list[Refusal]:
    """A token gives nobody a role that may do more than the token itself."""
    if by is None or by.scopes is None:
        return []
    beyond = sorted(role for role in roles if not RIGHTS[Role(role)] <= by.scopes)
    said = f"This token cannot give the role {', '.join(beyond)}: it may do less than that."
    return [Refusal("beyond-token", said, "roles")] if beyond else []


def _person_refusals(by: Actor | None, name: str, email: str, password: str, secret: str) -> list[Refusal]:
    found = []
    if by is None and Person.objects.exists():
        found.append(Refusal("not-first", "Only the first lead is taken on by nobody."))
    if Person.objects.filter(email=email).exists():
        found.append(TAKEN)
    if secret == password:
        found.append(
            Refusal(
                "secret-is-password", "The signing secret must differ from the password.", "signing_secret"
            )
        )
    try:
        validate_password(password, Person(name=name, email=email))
    except ValidationError as error:
        found += [Refusal("weak-password", message, "password") for message in error.messages]
    return found


def authorise(*, by: Person, person: Person, maker: str, kind: str, last_day: date | None) -> Authorisation:
    """Authorise somebody for a maker's gear of a kind to a last day."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=person.pk)
        row = Authorisation.objects.create(person=person, maker=maker, kind=kind, last_day=last_day)
        facts = {"maker": maker, "kind": kind, "last_day": str(last_day or "")}
        write(subject=f"person:{person.uid}", by=str(by.uid), verb="authorised", facts=facts)
    return row


def make_token(*, by: Person, label: str, scopes: list[str], days: int) -> tuple[Token, str]:
    """A token of one's own with narrowed rights; the secret text is shown this once."""
    require(by, Can.KEEP_OWN_TOKENS)
    if by.scopes is not None and (beyond := sorted(set(scopes) - set(by.scopes))):
        said = f"A token makes no token that may do more than itself: {', '.join(beyond)}."
        refuse([Refusal("beyond-token", said, "scopes")])
    if by.scopes is not None and by.until is not None and now() + timedelta(days=days) > by.until:
        refuse([Refusal("beyond-token", "A token makes no token that lives longer than itself.", "days")])
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=by.pk)
        row, text = Token.objects.create(user=person, expiry=timedelta(days=days), label=label, scopes=scopes)
        facts: dict[str, Any] = {"token": str(row.uid), "scopes": sorted(scopes), "days": days}
        write(subject=f"person:{person.uid}", by=str(by.uid), verb="token made", facts=facts)
    return row, text


def end_token(*, by: Person, token: Token) -> None:
    """End one's own token at once."""
    require(by, Can.KEEP_OWN_TOKENS)
    with transaction.atomic():
        Person.objects.select_for_update().get(pk=by.pk)
        Token.objects.filter(pk=token.pk, user=by).update(expiry=now())
        write(subject=f"person:{by.uid}", by=str(by.uid), verb="token ended", facts={"token": str(token.uid)})


def first_lead(*, name: str, email: str, password: str, signing_secret: str) -> Person:
    """The person who opens the workshop: a lead who may also do everything else."""
    roles = [str(role) for role in Role]
    return add_person(
        by=None, name=name, email=email, password=password, signing_secret=signing_secret, roles=roles
    )
