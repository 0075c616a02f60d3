"""Take people on, let them choose their words, authorise them, let them go; their tokens and sessions."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from django.contrib.auth.hashers import check_password, make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Q

from shop.journal.actions import write
from shop.staff.models import Authorisation, Person, PersonRole, Token, WrongTry
from shop.staff.reads import password_refusals, require, scopes_of
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
from shop.workshop.actions import set_reach
from shop.workshop.models import Workshop
from shop.workshop.reads import now, today
from shop.workshop.rules import Refusal, Stale, refuse

WORDS = {"weak-password", "password-is-secret"}  # what may be wrong with a password that is chosen
TAKEN = Refusal("email-taken", "Somebody signs in with this address already.", "email")


def add_person(
    *, by: Person | None, name: str, email: str, password: str, signing_secret: str, roles: list[str]
) -> Person:
    """Take somebody on; `by` is None only for the first lead, while there is nobody."""
    if by is not None:
        require(by, Can.KEEP_PEOPLE)
    return _take_on(by, name, email, roles, password, signing_secret)


def add_invited(*, by: Person, name: str, email: str, roles: list[str]) -> Person:
    """Take somebody on who will choose their password and signing secret themselves."""
    require(by, Can.KEEP_PEOPLE)
    return _take_on(by, name, email, roles, None, None)


def renew_invited(*, by: Person, person: Person) -> Person:
    """Somebody who has not chosen a password yet is to be invited again; the link they had dies."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=person.pk)
        found = []
        if not person.is_active:
            found.append(Refusal("left-already", f"{person.name} does not work here any more."))
        if person.has_usable_password():
            said = f"{person.name} has a password: whoever forgot it asks for a letter on the sign-in page."
            found.append(Refusal("has-password", said))
        refuse(found)
        person.set_unusable_password()
        person.save(update_fields=["password"])
        _journal(by, person, "invited again", {})
    return person


def choose_words(*, person: Person, password: str, signing_secret: str | None) -> None:
    """A person who followed a link chooses a password and, when invited, a signing secret; the caller holds the lock."""
    secret = signing_secret or ""
    refuse(_word_refusals(person.name, person.email, password, secret, person.signing_secret))
    person.set_password(password)
    if signing_secret:
        person.signing_secret = make_password(signing_secret)
    person.save(update_fields=["password", "signing_secret"])
    _journal(person, person, "invitation accepted" if signing_secret else "password reset", {})


def change_password(*, by: Person, password: str, new_password: str) -> Person:
    """Change one's own password; every session ends but the one that the page keeps."""
    require(by, Can.KEEP_OWN_TOKENS)
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=by.pk)
        found = password_refusals(person, password)
        found += _word_refusals(person.name, person.email, new_password, "", person.signing_secret)
        refuse([replace(each, pointer="new_password") if each.code in WORDS else each for each in found])
        person.set_password(new_password)
        person.save(update_fields=["password"])
        _journal(by, person, "password changed", {})
    return person


def change_signing_secret(*, by: Person, password: str, signing_secret: str) -> Person:
    """Change one's own signing secret; the password is asked."""
    require(by, Can.KEEP_OWN_TOKENS)
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=by.pk)
        refuse([*password_refusals(person, password), *_same_refusals(password, signing_secret)])
        person.signing_secret = make_password(signing_secret)
        person.save(update_fields=["signing_secret"])
        _journal(by, person, "signing secret changed", {})
    return person


def end_sessions(*, by: Person) -> Person:
    """End all of one's own sessions; a page keeps the one it was asked from."""
    require(by, Can.KEEP_OWN_TOKENS)
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=by.pk)
        person.sessions_ended += 1
        person.save(update_fields=["sessions_ended"])
        _journal(by, person, "sessions ended", {})
    return person


def put_tour_away(*, by: Person) -> None:
    """Somebody has seen the first steps and is not offered them again; a second time changes nothing."""
    require(by, Can.SEE)
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=by.pk)
        if person.tour_put_away_at is None:
            person.tour_put_away_at = now()
            person.save(update_fields=["tour_put_away_at"])
            _journal(by, person, "first steps put away", {})


def count_wrong_tries(people: Iterable[Person]) -> None:
    """Write down who had a password or signing secret typed wrongly, after the refusal was rolled back."""
    WrongTry.objects.bulk_create([WrongTry(person=person, at=now()) for person in people])


def _take_on(
    by: Person | None,
    name: str,
    email: str,
    roles: list[str],
    password: str | None,
    secret: str | None,
) -> Person:
    """Write the person; without words of theirs nothing can be typed that signs in or signs off."""
    with transaction.atomic():
        email = email.strip().lower()
        words = _word_refusals(name, email, password, secret or "") if password is not None else []
        refuse([*_new_refusals(by, email), *words, *_beyond(by, roles)])
        person = Person(email=email, name=name, signing_secret=make_password(secret))
        person.set_password(password)
        try:
            with transaction.atomic():
                person.save()
        except IntegrityError:  # somebody else was faster by an instant
            refuse([TAKEN])
        PersonRole.objects.bulk_create([PersonRole(person=person, role=role) for role in sorted(set(roles))])
        write(
            subject=f"person:{person.uid}",
            by=str(by.uid if by else person.uid),
            verb="invited" if password is None else "taken on",
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


def _new_refusals(by: Actor | None, email: str) -> list[Refusal]:
    found = []
    if by is None and Person.objects.exists():
        found.append(Refusal("not-first", "Only the first lead is taken on by nobody."))
    return [*found, TAKEN] if Person.objects.filter(email=email).exists() else found


def _same_refusals(password: str, secret: str) -> list[Refusal]:
    said = "The signing secret must differ from the password."
    return [Refusal("secret-is-password", said, "signing_secret")] if secret == password else []


def _word_refusals(name: str, email: str, password: str, secret: str, kept_secret: str = "") -> list[Refusal]:
    """Why a password cannot be chosen: too weak, or the same as the signing secret, the new one or the one kept."""
    found = _same_refusals(password, secret)
    if not secret and kept_secret and check_password(password, kept_secret):
        said = "The password must differ from the signing secret."
        found.append(Refusal("password-is-secret", said, "password"))
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
            alone = [each for each in scopes_of([under])[under.pk] if under.is_active and not each.under]
            may_alone = covering(alone, **asked, signing=True) is not None
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


def say_reach(*, by: Person, seen: int, **told: str) -> Workshop:
    """Say how customers reach the workshop, as letters and claim tickets print it, and when (`hours`); what is not told stays."""
    require(by, Can.KEEP_PEOPLE)
    with transaction.atomic():
        set_reach(seen=seen, **told)
        row = Workshop.objects.get()
        facts = {"version": row.version}
        write(subject="workshop", by=str(by.uid), verb="settings changed", facts=facts, words=told)
    return row


def make_token(*, by: Person, label: str, scopes: list[str], days: int) -> tuple[Token, str]:
    """A token of one's own with narrowed rights; the secret text is shown this once."""
    require(by, Can.KEEP_OWN_TOKENS)
    if missing := sorted(set(scopes) - by.rights):
        said = f"A token may do no more than you, who may not {', '.join(missing)}."
        refuse([Refusal("beyond-you", said, "scopes")])
    if by.scopes is not None and (beyond := sorted(set(scopes) - set(by.scopes))):
        said = f"A token makes no token that may do more than itself: {', '.join(beyond)}."
        refuse([Refusal("beyond-token", said, "scopes")])
    if by.scopes is not None and by.until is not None and now() + timedelta(days=days) > by.until:
        refuse([Refusal("beyond-token", "A token makes no token that lives longer than itself.", "days")])
    with transaction.atomic():
        person = Person.objects.select_for_update().get(pk=by.pk)
        Token.objects.filter(user=person, expiry__lte=now()).delete()
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
