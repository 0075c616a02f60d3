"""Take people on, authorise them, let them go, make and end their tokens."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Q

from shop.journal.actions import write
from shop.staff.models import Authorisation, Person, PersonRole, Token
from shop.staff.reads import require
from shop.staff.rules import (
    RIGHTS,
    Actor,
    Can,
    Role,
    covering,
    lead_refusals,
    leaving_refusals,
    teacher_refusals,
)
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, Stale, refuse

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


def _beyond(by: Person | None, roles: Iterable[str]) -> list[Refusal]:
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


def authorise(
    *,
    by: Person,
    person: Person,
    maker: str,
    kind: str,
    last_day: date | None,
    cylinders: bool = False,
    oxygen_clean: bool = False,
    under: Person | None = None,
) -> Authorisation:
    """Authorise somebody for a maker's gear of a kind to a last day, alone or as a trainee under somebody."""
    require(by, Can.KEEP_PEOPLE)
    given: dict[str, Any] = {"maker": maker, "kind": kind, "last_day": last_day}
    given |= {"cylinders": cylinders, "oxygen_clean": oxygen_clean, "under": under}
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=person.pk)
        if under:
            asked: dict[str, Any] = {"maker": maker, "kind": kind, "on": today()}
            asked |= {"cylinders": cylinders, "oxygen": oxygen_clean}
            may_alone = covering(under.alone_scopes(), **asked, signing=True) is not None
            refuse(teacher_refusals(under.name, is_self=under.pk == person.pk, may_alone=may_alone))
        row = Authorisation.objects.create(person=person, **given)
        facts = given | {"last_day": str(last_day or ""), "under": str(under.uid) if under else ""}
        _journal(by, person, "authorised", facts | {"authorisation": str(row.uid)})
    return row


def end_authorisation(*, by: Person, authorisation: Authorisation, last_day: date | None) -> Authorisation:
    """Let an authorisation end earlier: on a given last day, or today."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=authorisation.person_id)
        row = Authorisation.objects.get(pk=authorisation.pk)
        last = last_day or today()
        if row.last_day is not None and row.last_day <= last:
            said = f"It ends on {row.last_day.isoformat()} already: give an earlier day."
            refuse([Refusal("ends-already", said, "last_day")])
        row.last_day = last
        row.save(update_fields=["last_day"])
        facts = {"authorisation": str(row.uid), "last_day": str(last)}
        _journal(by, person, "authorisation ended", facts)
    return row


def change_roles(*, by: Person, person: Person, seen: int, roles: Iterable[str]) -> Person:
    """Give somebody these roles and no others."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        person, leads_left = _locked(person, seen)
        held, wanted = {str(role) for role in person.role_list}, set(roles)
        loses_lead = person.is_active and Role.LEAD in held - wanted
        refuse([*_beyond(by, wanted - held), *(lead_refusals(leads_left) if loses_lead else [])])
        PersonRole.objects.filter(person=person).exclude(role__in=wanted).delete()
        PersonRole.objects.bulk_create(
            [PersonRole(person=person, role=role) for role in sorted(wanted - held)]
        )
        return _changed(by, person, "roles changed", {"roles": sorted(wanted)})


def deactivate(*, by: Person, person: Person, seen: int) -> Person:
    """Somebody no longer works here: their sessions and tokens end at once and for good."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        person, leads_left = _locked(person, seen)
        if not person.is_active:
            refuse([Refusal("left-already", f"{person.name} does not work here any more.")])
        refuse(
            leaving_refusals(
                is_self=by.pk == person.pk,
                leads_left=leads_left if Role.LEAD in person.role_list else 1,
            )
        )
        person.is_active = False
        person.sessions_ended += 1
        Token.objects.filter(user=person, expiry__gt=now()).update(expiry=now())
        return _changed(by, person, "left", {})


def reactivate(*, by: Person, person: Person, seen: int) -> Person:
    """Somebody works here again, in the roles they had; they sign in anew."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        person, _ = _locked(person, seen)
        if person.is_active:
            refuse([Refusal("here-already", f"{person.name} works here.")])
        refuse(_beyond(by, person.role_list))
        person.is_active = True
        return _changed(by, person, "came back", {})


def _locked(person: Person, seen: int) -> tuple[Person, int]:
    """The person as they are now, locked with every lead, and how many other leads work here."""
    leads = PersonRole.objects.filter(role=Role.LEAD).values("person")
    rows = Person.objects.select_for_update().filter(Q(pk=person.pk) | Q(pk__in=leads)).order_by("pk")
    found = {row.pk: row for row in rows}
    row = found[person.pk]
    if row.version != seen:
        raise Stale(row.version)
    still = PersonRole.objects.filter(role=Role.LEAD, person__is_active=True).exclude(person=row)
    return row, still.count()


def _changed(by: Person, person: Person, verb: str, facts: dict[str, Any]) -> Person:
    """Keep a changed person under the next version, in the journal too; fresh, with their present roles."""
    person.version += 1
    person.save()
    _journal(by, person, verb, facts | {"version": person.version})
    return Person.objects.get(pk=person.pk)


def _journal(by: Person, person: Person, verb: str, facts: dict[str, Any]) -> None:
    write(subject=f"person:{person.uid}", by=str(by.uid), verb=verb, facts=facts)


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
