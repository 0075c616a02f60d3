"""How what a notice matches is answered, what it stops until then, and what a letter to an owner says. Pure."""

from dataclasses import dataclass
from enum import StrEnum

from jobs.safety.rules import How
from shop.workshop.rules import Refusal


class Became(StrEnum):
    """What became of a match."""

    FINE = "checked and fine"
    RIGHT = "put right"
    TOLD = "told"
    GONE = "not here any more"


SAID = {
    Became.FINE: "It was checked and is not concerned, by whoever looked at it",
    Became.RIGHT: "It was put right by a job",
    Became.TOLD: "Whoever has it was told",
    Became.GONE: "It is not here any more",
}


def stops(became: str, *, serviced: bool) -> bool:
    """Whether a match, by its newest answer, stops gear that goes out as serviced, or as "do not dive"."""
    return became not in (Became.FINE, Became.RIGHT) and (serviced or became != Became.TOLD)


def match_refusal(title: str, became: str, how: str) -> Refusal:
    """Why gear does not go out while a notice matches it."""
    if became:
        said = f"answered as “{became}” only: check it, or put it right and say by which job"
        return Refusal("notice-told", f"Safety notice “{title}”: {said}.")
    why = "" if how == How.NAMED else f" ({how})"
    return Refusal("notice", f"Safety notice “{title}” matches it{why} and nobody has answered for it yet.")


@dataclass(frozen=True)
class Asked:
    """A match as an answer looks at it: a lot or an item, what is left of it here, and its standing answer.

    `checks` is whether whoever answers may say that it was looked at; `job` whether a job was named, `its_own` whether
    that is one of this item and `done` whether it went as far as to have put something right.
    """

    lot: bool
    left: int
    here: str
    fresh: bool
    checks: bool
    job: bool = False
    its_own: bool = False
    done: bool = False


def answer_refusals(became: str, of: Asked) -> list[Refusal]:
    """Why a match may not be answered so, every reason at once."""
    found = []
    if not of.fresh:
        said = "It was answered meanwhile: look at that answer, then correct it if need be."
        found.append(Refusal("answered-before", said))
    if of.lot and became in (Became.RIGHT, Became.TOLD):
        said = "Of a lot it is said that it was checked and is fine, or that it is not here any more."
        found.append(Refusal("wrong-answer", said, "became"))
    if became == Became.GONE and of.left:
        found.append(Refusal("still-here", f"By the record it is here: {of.here}.", "became"))
    if became in (Became.FINE, Became.RIGHT) and not of.checks:
        who = "the store or the bench" if of.lot else "the bench"
        said = f"That it was looked at or put right is said by somebody of {who}."
        found.append(Refusal("not-yours-to-say", said, "became"))
    return [*found, *_job_refusals(became, of)]


def _job_refusals(became: str, of: Asked) -> list[Refusal]:
    if became != Became.RIGHT:
        said = "A job is named only where it was put right."
        return [Refusal("no-job-here", said, "job")] if of.job else []
    if not of.job:
        return [Refusal("job-missing", "Say which job put it right.", "job")]
    if not of.its_own:
        return [Refusal("other-item", "That job is one of another item.", "job")]
    if not of.done:
        said = "That job has not come to its tests yet, or was closed otherwise than serviced."
        return [Refusal("not-done-yet", said, "job")]
    return []


def named(item: str, how: str) -> str:
    """An item as the letter to its owner lists it: with a question mark where it could not be compared."""
    return f"{item} (?)" if how == How.UNCLEAR else item
