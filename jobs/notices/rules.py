"""What a doubt touches, how it may be answered, and what a letter about it says. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum

from jobs.flow.rules import ENDED, Leg, Outcome
from shop.workshop.rules import Refusal


class About(StrEnum):
    """What a doubt is raised against; also the column that holds the row."""

    VERDICT = "attempt"
    STEP = "step"
    INSTRUMENT = "instrument"
    PERSON = "person"
    LOT = "lot"
    PLAN = "plan_version"


IN_A_PERIOD = (About.INSTRUMENT, About.PERSON)


class Became(StrEnum):
    """What became of gear that a doubt touched."""

    STANDS = "stands"
    AGAIN = "done again"
    TOLD = "told"


SAID = {
    Became.STANDS: "Looked at: the work stands",
    Became.AGAIN: "The work is done again",
    Became.TOLD: "Whoever has it was told",
}


@dataclass(frozen=True)
class Subject:
    """What is doubted: a row, with its first and last day where it is a period, and the instant after which nothing is.

    Lots are (part, number); `raised` is when the doubt was.
    """

    about: str
    row: int = 0
    first: date = date.min
    last: date = date.max
    lots: frozenset[tuple[int, str]] = frozenset()
    until: datetime | None = None
    raised: datetime | None = None


@dataclass(frozen=True)
class Work:
    """One row on which a job's record rests: a verdict, a step, a loose part's end (no `about`), or a pinned plan.

    `overrode`: when the lead took a part although its lot was in doubt.
    """

    about: str
    row: int
    day: date = date.min
    people: frozenset[int] = frozenset()
    instrument: int | None = None
    lot: tuple[int, str] | None = None
    at: datetime | None = None
    overrode: datetime | None = None


def touches(subject: Subject, work: Work) -> bool:
    """Whether a piece of work rests on what is doubted; the first and the last day of a period belong to it.

    A part that was taken in spite of a doubt does not rest on that doubt; on one that was raised later it does.
    """
    within = subject.first <= work.day <= subject.last
    if subject.until and work.at and work.at > subject.until:
        within = False
    match subject.about:
        case About.INSTRUMENT:
            return work.instrument == subject.row and within
        case About.PERSON:
            return subject.row in work.people and within
        case About.LOT:
            passed = work.overrode and subject.raised and subject.raised <= work.overrode
            return work.lot in subject.lots and not passed
    return work.about == subject.about and work.row == subject.row


def in_spite(subject: Subject, works: Iterable[Work]) -> bool:
    """Whether work would rest on what is doubted, had it not been taken in spite of the doubt."""
    works = list(works)
    without = [replace(each, overrode=None) for each in works]
    return any(touches(subject, each) for each in without) and not any(
        touches(subject, each) for each in works
    )


def subject_errors(given: Iterable[str], first: date | None, last: date | None) -> dict[str, str]:
    """What is wrong with the subject of a doubt, by field: it is one thing, and a period where it is a period."""
    kinds = list(given)
    if len(kinds) != 1:
        return {"non_field_errors": "Say the one thing that is doubted."}
    if kinds[0] not in IN_A_PERIOD:
        return {
            name: "Only an instrument or a person is doubted for a period."
            for name, day in (("from_day", first), ("to_day", last))
            if day
        }
    if missing := [name for name, day in (("from_day", first), ("to_day", last)) if day is None]:
        return dict.fromkeys(missing, "Say the period: its first and its last day.")
    return {"to_day": "It ends before it begins."} if first and last and last < first else {}


def choices_of(leg: str, outcome: str, *, here: bool) -> tuple[Became, ...]:
    """How gear may be answered for: what is gone has somebody to tell, what is here is looked at or done again.

    What is here but was closed as not serviced leaves as "do not dive"; that its owner was told answers it too.
    """
    if not here:
        return (Became.TOLD,)
    closed = leg == Leg.SIGNED_OFF and outcome != Outcome.SERVICED
    return (Became.STANDS, Became.AGAIN, *((Became.TOLD,) if closed else ()))


def answer_refusals(
    became: str, leg: str, outcome: str, *, here: bool, rests: bool, answered: bool
) -> list[Refusal]:
    """Why a doubt may not be answered so; `rests` is whether an open job's record still rests on what is doubted."""
    if answered:
        return [Refusal("answered-before", "This was answered before.")]
    if became not in choices_of(leg, outcome, here=here):
        said = "It is gone: what counts is that whoever has it was told."
        if here:
            said = "It is here: say whether the work stands or is done again."
        return [Refusal("wrong-answer", said, "became")]
    if became == Became.AGAIN and rests and leg not in ENDED:
        said = (
            "Its record still rests on what is doubted: go back to that leg, or test it again, before this."
        )
        return [Refusal("rests-still", said, "became")]
    return []
