"""Who may sign, and with whom. Pure."""

from jobs.flow.rules import Outcome
from shop.workshop.rules import Refusal


def second_refusals(
    *, asked: bool, outcome: str, second_is_given: bool, second_is_signer: bool, second_may_sign: bool
) -> list[Refusal]:
    """A plan may ask for a second person when gear goes back as serviced; whoever is named must be another signer."""
    if not second_is_given:
        wanted = asked and outcome == Outcome.SERVICED
        return [Refusal("second-missing", "The plan asks for a second person.", "second")] if wanted else []
    if second_is_signer:
        return [Refusal("second-is-signer", "The second person must be somebody else.", "second")]
    if not second_may_sign:
        return [Refusal("second-may-not", "The second person does not have the right to sign off.", "second")]
    return []


def outcome_refusals(outcome: str, words: str) -> list[Refusal]:
    """Any outcome other than serviced says why."""
    if outcome != Outcome.SERVICED and not words:
        return [Refusal("words-missing", "Say what was found.", "words")]
    return []
