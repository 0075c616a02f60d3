"""When another part may go where the plan asks for one: only what is approved by name, on its condition. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from shop.workshop.rules import Refusal

WRONG_PART = "wrong-part"


def alternative_refusals(
    part: str, other: str, *, superseded: bool, newer: Mapping[str, str], stands: Iterable[str]
) -> list[Refusal]:
    """Why a part may not be approved in the place of another.

    `newer` gives what supersedes each part, by number; `stands` what is approved for the part already.
    """
    if part == other:
        return [Refusal("itself", f"{part} is no alternative to itself.", "other")]
    found = []
    if other in stands:
        found.append(Refusal("approved-before", f"{other} is approved in place of {part} already.", "other"))
    if superseded and part in newer:
        said = f"{part} is superseded by {newer[part]} already. End that first."
        found.append(Refusal("superseded-before", said, "supersedes"))
    if superseded and part in _chain(other, newer):
        said = f"{other} is itself superseded by {part}, directly or by way of others."
        found.append(Refusal("circle", said, "supersedes"))
    return found


def _chain(part: str, newer: Mapping[str, str]) -> list[str]:
    """What supersedes a part, and what supersedes that, and so on."""
    found: list[str] = []
    while (part := newer.get(part, "")) and part not in found:
        found.append(part)
    return found


def as_approved(refusals: Sequence[Refusal], approved: str, *, acknowledged: bool) -> list[Refusal]:
    """Refusals of a lot once alternatives are looked at; `approved` says as what its part is, empty where it is nothing.

    Whoever acknowledges the condition takes the part as an alternative; whoever does not is told of it.
    """
    wrong = any(each.code == WRONG_PART for each in refusals)
    if acknowledged and not (approved and wrong):
        said = "This lot is not of an approved alternative to what the plan asks for."
        return [*refusals, Refusal("no-alternative", said, "as_alternative")]
    if acknowledged:
        return [each for each in refusals if each.code != WRONG_PART]
    more = f" {approved} Say that its condition holds, or take another lot." if approved else ""
    return [
        replace(each, sentence=each.sentence + more) if each.code == WRONG_PART else each for each in refusals
    ]
