"""Whether an item is still in use. Pure."""

from enum import StrEnum

from shop.workshop.rules import Refusal


class Standing(StrEnum):
    """What became of an item; all but the first stop its clocks or end them."""

    IN_USE = "in use"
    PUT_AWAY = "put away dry"
    SOLD = "sold"
    LOST = "lost"
    CONDEMNED = "condemned"
    BEYOND_REPAIR = "beyond repair"


# Out of these nothing leads but the round that said so, opened again.
FOR_GOOD = (Standing.CONDEMNED, Standing.BEYOND_REPAIR)


def standing_refusals(before: str, standing: str) -> list[Refusal]:
    """Why an item is not said to stand so."""
    if before == standing:
        return [Refusal("stands-so", f"It is {standing} already.", "standing")]
    if before in FOR_GOOD:
        said = f"It is {before}. Only another round of the job that found it so takes that back."
        return [Refusal("for-good", said, "standing")]
    return []
