"""People, their roles and authorisations, and the tokens of machines that act for them."""

from datetime import datetime
from typing import Any
from uuid import uuid4

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.crypto import salted_hmac
from django.utils.functional import cached_property
from knox.models import AbstractAuthToken

from shop.staff.rules import RIGHTS, Can, Role
from shop.workshop.rules import pairs, values


class People(BaseUserManager["Person"]):
    """Looks people up by their sign-in address."""

    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(email=(username or "").strip().lower())


class Person(AbstractBaseUser):  # type: ignore[django-manager-missing]  # knox has no types for its relation
    """Somebody who works here; `sessions_ended` counts how often all their sessions were ended at once.

    `tour_put_away_at` is when they put the first steps away, which are offered until then.
    """

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120)
    signing_secret = models.CharField(max_length=128)
    is_active = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)
    sessions_ended = models.PositiveIntegerField(default=0)
    tour_put_away_at = models.DateTimeField(null=True)

    objects = People()
    USERNAME_FIELD = "email"

    # Set by the token's authentication: the rights it is narrowed to and its end. None for somebody signed in by page.
    scopes: frozenset[Can] | None = None
    until: datetime | None = None

    def __str__(self) -> str:
        return self.name

    @cached_property
    def role_list(self) -> list[Role]:
        """The person's roles in the order of the table."""
        held = {row.role for row in self.roles.all()}
        return [role for role in Role if role in held]

    @property
    def role_names(self) -> str:
        return ", ".join(self.role_list)

    def may(self, right: Can) -> bool:
        """Whether one of the roles gives the right and the token, if any, does not take it away."""
        return self.is_active and right in self.rights and (self.scopes is None or right in self.scopes)

    @cached_property
    def rights(self) -> frozenset[Can]:
        """What the person's roles give them, whatever a token narrows it to."""
        return frozenset().union(*(RIGHTS[role] for role in self.role_list))

    def get_session_auth_hash(self) -> str:
        """What a session is held against at each request: the password, and whether all sessions were ended since."""
        kept = f"{self.password}:{self.sessions_ended}"
        return salted_hmac("shop.staff.session", kept, algorithm="sha256").hexdigest()


class PersonRole(models.Model):
    """One role of one person."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="roles")
    role = models.CharField(max_length=12, choices=pairs(Role))

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["person", "role"], name="person_role_once"),
            models.CheckConstraint(condition=models.Q(role__in=values(Role)), name="person_role_known"),
        ]

    def __str__(self) -> str:
        return self.role


class Authorisation(models.Model):
    """A maker's or the workshop's leave to work on a kind of gear, to a last day; empty means any."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="authorisations")
    maker = models.CharField(max_length=80, blank=True)
    kind = models.CharField(max_length=40, blank=True)
    last_day = models.DateField(null=True)
    cylinders = models.BooleanField(default=False)
    oxygen_clean = models.BooleanField(default=False)
    under = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(under=None) | ~models.Q(under=models.F("person")),
                name="authorisation_under_another",
            )
        ]

    def __str__(self) -> str:
        return f"{self.maker or 'any maker'}, {self.kind or 'any kind'}, {self.last_day or 'open'}"

    @property
    def kind_label(self) -> str:
        return self.kind.replace("_", " ")


class WrongTry(models.Model):
    """A password or signing secret of somebody, typed wrongly by somebody who was signed in."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="wrong_tries")
    at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"{self.person_id} at {self.at}"


class Token(AbstractAuthToken):  # type: ignore[misc]  # knox has no type information
    """A machine's key to the API: hashed, with scopes and a last instant."""

    uid = models.UUIDField(unique=True, default=uuid4, editable=False)
    label = models.CharField(max_length=80)
    scopes = models.JSONField()

    def __str__(self) -> str:
        return self.label

    @property
    def rights(self) -> frozenset[Can]:
        known: Any = {str(right): right for right in Can}
        return frozenset(known[name] for name in self.scopes if name in known)
