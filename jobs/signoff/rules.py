"""Who may sign, and with whom. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from jobs.flow.rules import Outcome
from shop.workshop.rules import Refusal


@dataclass(frozen=True)
class Second:
    """The second person as the rules look at them."""

    is_signer: bool
    may_sign: bool


def second_refusals(
    *, asked: bool, outcome: str, second: Second | None, single_handed: str, others: Sequence[str]
) -> list[Refusal]:
    """A plan may ask for a second person when gear goes back as serviced; whoever is named must be another signer.

    Working single-handed is recorded in words, and only where nobody else may sign: `others` names whoever may.
    """
    if second is None:
        if not (asked and outcome == Outcome.SERVICED):
            return []
        if not single_handed:
            return [Refusal("second-missing", "The plan asks for a second person.", "second")]
        if others:
            said = f"You are not alone: {', '.join(others)} may sign as the second person."
            return [Refusal("not-alone", said, "single_handed")]
        return []
    if single_handed:
        return [Refusal("not-alone", "Either a second person or single-handed.", "single_handed")]
    if second.is_signer:
        return [Refusal("second-is-signer", "The second person must be somebody else.", "second")]
    if not second.may_sign:
        return [Refusal("second-may-not", "The second person does not have the right to sign off.", "second")]
    return []


def comeback_refusals(
    earlier: str, signer: str, *, single_handed: str, others: Sequence[str]
) -> list[Refusal]:
    """Gear that comes back is signed by another than who signed the job that it follows, if there is one.

    `earlier` is the name of who signed that job, empty when there is none.
    """
    if not earlier or earlier != signer or (single_handed and not others):
        return []
    return [
        Refusal("same-signer", f"{signer} signed the job that this one follows: somebody else signs now.")
    ]


def outcome_refusals(outcome: str, words: str) -> list[Refusal]:
    """Any outcome other than serviced says why."""
    if outcome != Outcome.SERVICED and not words:
        return [Refusal("words-missing", "Say what was found.", "words")]
    return []
