"""Whether somebody may do a thing, and whether a password or signing secret is theirs."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from typing import Any, Protocol

from django.contrib.auth.hashers import check_password
from django.core.exceptions import PermissionDenied
from django.db.models import F
from knox.auth import TokenAuthentication
from knox.crypto import hash_token
from rest_framework.exceptions import AuthenticationFailed

from shop.staff.models import Person, Token
from shop.staff.rules import (
    MOST_TRIES,
    TRIES_WITHIN,
    Actor,
    Can,
    Role,
    Scope,
    authorisation_refusals,
    covering,
    scope_words,
)
from shop.workshop.reads import columns, now, today
from shop.workshop.rules import Refusal, Refused


def require(by: Actor, right: Can) -> None:
    """The first line of every action and read: PermissionDenied unless the actor has the right."""
    if not by.may(right):
        narrowed = isinstance(by, Person) and right in by.rights
        said = "This token lacks the scope: make one that may" if narrowed else "You do not have the right to"
        raise PermissionDenied(f"{said} {right}.")


def secret_refusals(person: Person, secret: str, pointer: str = "secret") -> list[Refusal]:
    """Why a signing secret does not stand for a person; a wrong one is counted, and too many stop even the right one."""
    wrong = Refusal("wrong-secret", f"That is not the signing secret of {person.name}.", pointer)
    return _tried(person, secret, person.signing_secret, wrong)


def password_refusals(person: Person, password: str) -> list[Refusal]:
    """Why a password that somebody signed in types once more is not theirs; counted like a signing secret."""
    wrong = Refusal("wrong-password", "That is not your password.", "password")
    return _tried(person, password, person.password, wrong)


def _tried(person: Person, typed: str, kept: str, wrong: Refusal) -> list[Refusal]:
    if person.wrong_tries.filter(at__gt=now() - TRIES_WITHIN).count() >= MOST_TRIES:
        said = f"Too many wrong passwords and signing secrets of {person.name}. Wait a quarter of an hour."
        return [Refusal("too-many-tries", said, wrong.pointer)]
    if person.is_active and check_password(typed, kept):
        return []
    if (watched := _wrong.get()) is not None:
        watched.append(person)
    return [wrong]


# Whose secret was typed wrongly in the request: what is refused is rolled back, so it is counted afterwards.
_wrong: ContextVar[list[Person] | None] = ContextVar("wrong", default=None)


@contextmanager
def watch_wrong_tries() -> Iterator[list[Person]]:
    """Within it, collect whose password or signing secret was typed wrongly."""
    found: list[Person] = []
    token = _wrong.set(found)
    try:
        yield found
    finally:
        _wrong.reset(token)


def at_the_console(email: str | None) -> Person:
    """Who acts when somebody runs a command: the person of that address, or the first lead."""
    people = Person.objects.filter(is_active=True).order_by("pk")
    row = (people.filter(email=email) if email else people.filter(roles__role="lead")).first()
    if row is None:
        raise Refused([Refusal("nobody", "Nobody who works here signs in with that address.", "by")])
    return row


class Gear(Protocol):
    """A model, as far as an authorisation looks at it."""

    maker: str
    kind: str

    @property
    def kind_label(self) -> str: ...


def scopes_of(people: Collection[Person]) -> dict[int, list[Scope]]:
    """Every authorisation that people were ever given, by their primary keys; a trainee's with what the teacher may alone."""
    sql = """
    SELECT a.person_id, p.is_active, a.under_id, teacher.name, a.maker, a.kind, a.last_day, a.cylinders, a.oxygen_clean
    FROM staff_authorisation a JOIN staff_person p ON p.id = a.person_id
    LEFT JOIN staff_person teacher ON teacher.id = a.under_id WHERE a.person_id = ANY(%s)
    OR a.person_id IN (SELECT own.under_id FROM staff_authorisation own WHERE own.person_id = ANY(%s)) ORDER BY a.id
    """
    found = {person.pk: list[Scope]() for person in people}
    rows, alone = columns(sql, list(found), list(found)), dict[int, list[Scope]]()
    for whose, works_here, under, _, *held in rows:
        if works_here and under is None:
            alone.setdefault(whose, []).append(Scope(*held))
    for whose, _, under, teacher, *held in rows:
        if whose in found:
            taught = () if under is None else (teacher, tuple(alone.get(under, ())))
            found[whose].append(Scope(*held, *taught))
    return found


def authorisation_for(
    person: Person, gear: Gear, *, oxygen: bool = False, signing: bool = False, on: date | None = None
) -> tuple[str, list[Refusal]]:
    """The person's authorisation for gear on a day, today if none is named, in words to keep, or the refusals.

    `oxygen` is for work on oxygen-clean gear; `signing` for a signature, which no trainee gives.
    """
    scopes = scopes_of([person])[person.pk]
    asked: Any = {
        "maker": gear.maker,
        "kind": gear.kind,
        "on": on or today(),
        "oxygen": oxygen,
        "signing": signing,
    }
    scope = covering(scopes, **asked)
    refusals = authorisation_refusals(person.name, scopes, kind_label=gear.kind_label, **asked)
    return scope_words(scope) if scope else "", refusals


class ScopedTokenAuthentication(TokenAuthentication):  # type: ignore[misc]  # knox has no type information
    """`Authorization: Token …`; the person acts with the token's scopes only."""

    def authenticate_credentials(self, token: bytes) -> tuple[Person, Token]:
        try:
            kept = Token.objects.select_related("user").filter(
                pk=hash_token(token.decode()), expiry__gt=now()
            )
        except (UnicodeDecodeError, ValueError):
            raise AuthenticationFailed("Invalid token.") from None
        rows = list(kept.annotate(role=F("user__roles__role")))  # one a role, or one without
        if not rows or not rows[0].user.is_active:
            raise AuthenticationFailed("Invalid token.")
        row, held = rows[0], {each.role for each in rows}
        person: Person = row.user
        person.role_list = [role for role in Role if role in held]
        person.scopes, person.until = row.rights, row.expiry
        return person, row
