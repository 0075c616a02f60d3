"""Roles, rights and authorisations. Pure: the one table of who may do what."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Any, Protocol

from shop.workshop.rules import Kind, Refusal


class Role(StrEnum):
    """What a person is in the workshop; one may be several."""

    COUNTER = "counter"
    TECHNICIAN = "technician"
    INSPECTOR = "inspector"
    STOREKEEPER = "storekeeper"
    LEAD = "lead"


class Can(StrEnum):
    """One right each."""

    SEE = "see"
    KEEP_CUSTOMERS = "keep customers"
    KEEP_GEAR = "keep gear"
    KEEP_PLANS = "keep plans"
    KEEP_PEOPLE = "keep people"
    KEEP_STOCK = "keep stock"
    OPEN_KIT = "open a kit"
    KEEP_INSTRUMENTS = "keep instruments"
    KEEP_OWN_TOKENS = "keep own tokens"
    CHECK_IN = "check in"
    TAKE_GO_AHEAD = "take a go-ahead"
    ASSIGN = "assign"
    PROMISE = "promise a day"
    MOVE = "move a job"
    WORK = "work on a job"
    TEST = "test"
    SIGN = "sign off"
    HAND_BACK = "hand back"
    BILL = "bill and mark payments"
    LEND = "lend our own gear"
    HOLD = "hold a job"
    LIFT_EVIDENCE = "release evidence"
    KEEP_CUSTODY = "pass gear on"
    REOPEN = "open another round"
    DISPOSE = "dispose of gear"
    SEE_LETTERS = "see letters"
    KEEP_LETTERS = "keep letters"
    DOUBT = "raise a doubt"
    ANSWER_DOUBT = "answer a doubt"
    KEEP_NOTICES = "keep safety notices"
    ANSWER_NOTICE = "answer a safety notice"
    OVERRIDE = "override a refusal"
    BRING_IN = "bring in and take out"
    ANSWER_FOR_RIGHTS = "answer for people's rights"


_EVERYBODY = {Can.SEE, Can.KEEP_OWN_TOKENS}
_COUNTER = {
    Can.KEEP_CUSTOMERS,
    Can.KEEP_GEAR,
    Can.CHECK_IN,
    Can.TAKE_GO_AHEAD,
    Can.MOVE,
    Can.HAND_BACK,
    Can.BILL,
    Can.LEND,
    Can.SEE_LETTERS,
    Can.KEEP_LETTERS,
    Can.HOLD,
    Can.KEEP_CUSTODY,
    Can.PROMISE,
    Can.ANSWER_NOTICE,
}
_BENCH = {
    Can.KEEP_GEAR,
    Can.MOVE,
    Can.WORK,
    Can.TEST,
    Can.SIGN,
    Can.HOLD,
    Can.KEEP_CUSTODY,
    Can.OPEN_KIT,
    Can.DOUBT,
    Can.ANSWER_NOTICE,
}
RIGHTS: dict[Role, frozenset[Can]] = {
    Role.COUNTER: frozenset(_EVERYBODY | _COUNTER),
    Role.TECHNICIAN: frozenset(_EVERYBODY | _BENCH),
    Role.INSPECTOR: frozenset(_EVERYBODY | _BENCH | {Can.KEEP_INSTRUMENTS, Can.REOPEN, Can.ANSWER_DOUBT}),
    Role.STOREKEEPER: frozenset(_EVERYBODY | {Can.KEEP_STOCK, Can.OPEN_KIT, Can.ANSWER_NOTICE}),
    Role.LEAD: frozenset(Can) - {Can.WORK, Can.TEST, Can.SIGN},
}


# How many wrong passwords and signing secrets of one person are let through within how long.
MOST_TRIES, TRIES_WITHIN = 10, timedelta(minutes=15)


class Actor(Protocol):
    """Whoever acts: a person, perhaps through a token that narrows the rights."""

    def may(self, right: Can) -> bool: ...


# Kinds of gear that ask for the cylinder scope, as texts: a kind may be named here before its first plan is.
CYLINDER_KINDS = frozenset({Kind.CYLINDER.value, Kind.CYLINDER_VALVE.value})


@dataclass(frozen=True)
class Scope:
    """One authorisation: for a maker and a kind of gear (empty means any), to a last day (None means open).

    A trainee's names whom they work under; `teacher` is what that person may do alone, nothing once they have left.
    """

    maker: str
    kind: str
    last_day: date | None
    cylinders: bool = False
    oxygen_clean: bool = False
    under: str = ""
    teacher: tuple["Scope", ...] = ()

    def reaches(self, maker: str, kind: str, on: date) -> bool:
        """Whether it is for this maker and kind on that day, whatever else the work asks for."""
        return (
            self.maker in ("", maker)
            and self.kind in ("", kind)
            and (self.last_day is None or on <= self.last_day)
        )

    def fits(self, *, cylinders: bool, oxygen: bool) -> bool:
        """Whether it holds the scopes that the work asks for."""
        return (self.cylinders or not cylinders) and (self.oxygen_clean or not oxygen)


def covering(
    scopes: Iterable[Scope],
    *,
    maker: str,
    kind: str,
    on: date,
    cylinders: bool = False,
    oxygen: bool = False,
    signing: bool = False,
) -> Scope | None:
    """The authorisation that covers work on a maker's gear of a kind on a day; one's own before a trainee's.

    A trainee's covers what the teacher may do alone on that day, and never a signature.
    """
    cylinders = cylinders or kind in CYLINDER_KINDS
    fitting = [s for s in scopes if s.reaches(maker, kind, on) and s.fits(cylinders=cylinders, oxygen=oxygen)]
    for scope in fitting:
        if not scope.under:
            return scope
    for scope in () if signing else fitting:
        asked: Any = {"cylinders": cylinders, "oxygen": oxygen, "signing": True}
        if covering(scope.teacher, maker=maker, kind=kind, on=on, **asked):
            return scope
    return None


def scope_words(scope: Scope) -> str:
    """An authorisation in the words that are kept with a row; a name that is long is cut, the columns hold 200."""
    more = [("cylinder work", scope.cylinders), ("oxygen-clean work", scope.oxygen_clean)]
    said = [f"trainee under {scope.under}"] if scope.under else []
    said += [scope.maker or "any maker", scope.kind.replace("_", " ") or "any kind of gear"]
    said += [words for words, held in more if held]
    return ", ".join([*said, f"to {scope.last_day}" if scope.last_day else "no last day"])[:200]


def authorisation_refusals(
    name: str,
    scopes: Iterable[Scope],
    *,
    maker: str,
    kind: str,
    kind_label: str,
    on: date,
    oxygen: bool = False,
    signing: bool = False,
) -> list[Refusal]:
    """Why a person may not work on a maker's gear of a kind on a day, or not sign for it."""
    scopes = list(scopes)
    if covering(scopes, maker=maker, kind=kind, on=on, oxygen=oxygen, signing=signing):
        return []
    work = f"a {kind_label} by {maker} on {on.isoformat()}"
    near, cylinders = [s for s in scopes if s.reaches(maker, kind, on)], kind in CYLINDER_KINDS
    found = []
    if near and cylinders and not any(s.cylinders for s in near):
        found.append(Refusal("no-cylinder-scope", f"{name} is not authorised for cylinder work."))
    if near and oxygen and not any(s.oxygen_clean for s in near):
        found.append(Refusal("no-oxygen-scope", f"{name} is not authorised for work on oxygen-clean gear."))
    if found:
        return found
    trainee = next((s for s in near if s.under and s.fits(cylinders=cylinders, oxygen=oxygen)), None)
    if trainee and signing:
        return [Refusal("trainee", f"{name} works under {trainee.under}, who signs.")]
    if trainee:
        said = f"{name} works under {trainee.under}, who is not authorised for {work}."
        return [Refusal("teacher-not-authorised", said)]
    return [Refusal("not-authorised", f"{name} is not authorised for {work}.")]


def teacher_refusals(name: str, *, is_self: bool, may_alone: bool) -> list[Refusal]:
    """Why nobody may be a trainee under a person: the teacher is somebody else who may do that work alone."""
    if is_self:
        return [Refusal("own-teacher", "Nobody is a trainee under themselves.", "under")]
    if not may_alone:
        said = f"{name} is not authorised for all of this, so nobody can be a trainee for it under them."
        return [Refusal("teacher-not-authorised", said, "under")]
    return []


def leaving_refusals(*, is_self: bool, leads_left: int) -> list[Refusal]:
    """Why somebody may not leave: nobody ends their own work here, and a lead stays."""
    found = [Refusal("self", "Nobody ends their own work here: ask another lead.")] if is_self else []
    return [*found, *lead_refusals(leads_left)]


def lead_refusals(leads_left: int) -> list[Refusal]:
    """A workshop keeps at least one lead who works here."""
    return (
        [] if leads_left else [Refusal("last-lead", "This is the last lead: make somebody else one first.")]
    )
