"""Roles, rights and authorisations. Pure: the one table of who may do what."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Protocol

from shop.workshop.rules import Refusal


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
    HOLD = "hold a job"
    LIFT_EVIDENCE = "release evidence"
    KEEP_CUSTODY = "pass gear on"
    REOPEN = "open another round"
    DISPOSE = "dispose of gear"
    SEE_LETTERS = "see letters"
    DOUBT = "raise a doubt"
    ANSWER_DOUBT = "answer a doubt"


_EVERYBODY = {Can.SEE, Can.KEEP_OWN_TOKENS}
_COUNTER = {
    Can.KEEP_CUSTOMERS,
    Can.KEEP_GEAR,
    Can.CHECK_IN,
    Can.TAKE_GO_AHEAD,
    Can.MOVE,
    Can.HAND_BACK,
    Can.SEE_LETTERS,
    Can.HOLD,
    Can.KEEP_CUSTODY,
    Can.PROMISE,
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
}
RIGHTS: dict[Role, frozenset[Can]] = {
    Role.COUNTER: frozenset(_EVERYBODY | _COUNTER),
    Role.TECHNICIAN: frozenset(_EVERYBODY | _BENCH),
    Role.INSPECTOR: frozenset(_EVERYBODY | _BENCH | {Can.KEEP_INSTRUMENTS, Can.REOPEN, Can.ANSWER_DOUBT}),
    Role.STOREKEEPER: frozenset(_EVERYBODY | {Can.KEEP_STOCK, Can.OPEN_KIT}),
    Role.LEAD: frozenset(Can) - {Can.WORK, Can.TEST, Can.SIGN},
}


class Actor(Protocol):
    """Whoever acts: a person, perhaps through a token that narrows the rights."""

    def may(self, right: Can) -> bool: ...


@dataclass(frozen=True)
class Scope:
    """One authorisation: for a maker and a kind of gear (empty means any), to a last day (None means open)."""

    maker: str
    kind: str
    last_day: date | None


def covering(scopes: Iterable[Scope], *, maker: str, kind: str, on: date) -> Scope | None:
    """The authorisation that covers a maker's gear of a kind on a day, if there is one."""
    for scope in scopes:
        if (
            scope.maker in ("", maker)
            and scope.kind in ("", kind)
            and (scope.last_day is None or on <= scope.last_day)
        ):
            return scope
    return None


def authorisation_refusals(
    name: str, scopes: Iterable[Scope], *, maker: str, kind: str, kind_label: str, on: date
) -> list[Refusal]:
    """Why a person may not work on a maker's gear of a kind on a day."""
    if covering(scopes, maker=maker, kind=kind, on=on):
        return []
    return [
        Refusal(
            "not-authorised", f"{name} is not authorised for a {kind_label} by {maker} on {on.isoformat()}."
        )
    ]
