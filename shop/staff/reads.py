"""Whether somebody may do a thing, and whether a signing secret is theirs."""

from typing import Any, Protocol

from django.contrib.auth.hashers import check_password
from django.core.exceptions import PermissionDenied
from knox.auth import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed

from shop.staff.models import Person, Token
from shop.staff.rules import Actor, Can, authorisation_refusals, covering, scope_words
from shop.workshop.reads import today
from shop.workshop.rules import Refusal


def require(by: Actor, right: Can) -> None:
    """The first line of every action and read: PermissionDenied unless the actor has the right."""
    if not by.may(right):
        raise PermissionDenied(f"You do not have the right to {right}.")


def secret_refusals(person: Person, secret: str, pointer: str = "secret") -> list[Refusal]:
    """Why a signing secret does not stand for a person."""
    if person.is_active and check_password(secret, person.signing_secret):
        return []
    return [Refusal("wrong-secret", f"That is not the signing secret of {person.name}.", pointer)]


class Gear(Protocol):
    """A model, as far as an authorisation looks at it."""

    maker: str
    kind: str

    @property
    def kind_label(self) -> str: ...


def authorisation_for(
    person: Person, gear: Gear, *, oxygen: bool = False, signing: bool = False
) -> tuple[str, list[Refusal]]:
    """The person's authorisation for gear today, in words to keep with the row, or the refusals.

    `oxygen` is for work on oxygen-clean gear; `signing` for a signature, which no trainee gives.
    """
    scopes = person.authorised_scopes()
    asked: Any = {"maker": gear.maker, "kind": gear.kind, "on": today(), "oxygen": oxygen, "signing": signing}
    scope = covering(scopes, **asked)
    refusals = authorisation_refusals(person.name, scopes, kind_label=gear.kind_label, **asked)
    return scope_words(scope) if scope else "", refusals


class ScopedTokenAuthentication(TokenAuthentication):  # type: ignore[misc]  # knox has no type information
    """`Authorization: Token …`; the person acts with the token's scopes only."""

    def authenticate_credentials(self, token: bytes) -> tuple[Person, Token]:
        try:
            person, row = super().authenticate_credentials(token)
        except UnicodeDecodeError:
            raise AuthenticationFailed("Invalid token.") from None
        person.scopes, person.until = row.rights, row.expiry
        return person, row
