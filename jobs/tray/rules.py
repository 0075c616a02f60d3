"""How a loose part may end, and which stand open. Pure."""

from collections.abc import Iterable
from enum import StrEnum

from shop.catalogue.rules import LoosePart, Plan
from shop.workshop.rules import Refusal

# The legs on which a part may be given its end: it is out, and it is not yet back in.
OUT = ("stripping", "cleaning")


class Ending(StrEnum):
    """What becomes of a loose part."""

    REUSED = "reused"
    RENEWED = "renewed"


def ending_refusals(
    part: LoosePart, ending: str, leg: str, ended: Iterable[str], *, has_lot: bool
) -> list[Refusal]:
    """Why a part may not end so: parts that the plan renews are renewed, from a lot, while the gear is apart."""
    found = []
    if leg not in OUT:
        found.append(
            Refusal(
                "wrong-leg",
                f"Parts are accounted for while the gear is apart, not on {leg.replace('_', ' ')}.",
            )
        )
    if part.key in set(ended):
        found.append(Refusal("ended-before", f"{part.name} is accounted for already."))
    if ending == Ending.REUSED and part.renew:
        found.append(
            Refusal("must-renew", f"{part.name} is renewed at each service; it may not be reused.", "ending")
        )
    if ending == Ending.RENEWED and not part.renew:
        found.append(Refusal("no-part", f"The plan names no part that renews {part.name.lower()}.", "ending"))
    if ending == Ending.RENEWED and not has_lot:
        found.append(Refusal("lot-missing", "Name the lot that the new part comes from.", "lot"))
    if ending == Ending.REUSED and has_lot:
        found.append(Refusal("lot-unasked", "A reused part takes nothing from a lot.", "lot"))
    return found


def open_parts(plan: Plan, ended: Iterable[str]) -> list[Refusal]:
    """Loose parts that are not accounted for, each with the step that frees it."""
    known = set(ended)
    return [
        Refusal(
            "part-open",
            f"Step {plan.position(step)}, {step.title}: {part.name.lower()} is not accounted for.",
        )
        for step in plan.steps
        for part in plan.freed(step)
        if part.key not in known
    ]
