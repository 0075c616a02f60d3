"""Whether a step may be called done, and which steps still stand open. Pure."""

from collections.abc import Iterable
from decimal import Decimal

from shop.catalogue.rules import Plan, Step
from shop.workshop.rules import Refusal


def counting_refusals(plan: Plan, step: Step, counted: int | None) -> list[Refusal]:
    """The loose parts in the tray must be as many as the step frees."""
    freed = plan.freed(step)
    expected = sum(part.count for part in freed)
    where = f"Step {plan.position(step)}, {step.title}"
    if not expected:
        return (
            [] if counted is None else [Refusal("count-unasked", f"{where}: it frees no parts.", "counted")]
        )
    if counted is None:
        return [Refusal("not-counted", f"{where}: count the {expected} loose parts.", "counted")]
    if counted == expected:
        return []
    names = [part.name.lower() for part in freed]
    listed = ", ".join(names[:-1]) + " or " + names[-1] if len(names) > 1 else names[0]
    verb = "is" if expected - counted == 1 else "are"
    if counted < expected:
        said = f"{where}: {expected - counted} of {expected} {verb} missing: {listed}?"
    else:
        said = f"{where}: {counted} counted, {expected} expected; which one is too many?"
    return [Refusal("wrong-count", said, "counted")]


def doing_refusals(plan: Plan, step: Step, leg: str, done: Iterable[str], torque_n_m: str) -> list[Refusal]:
    """A step is done on its own leg, once, and with its torque read off when it has one."""
    found = []
    if step.leg != leg:
        found.append(
            Refusal(
                "wrong-leg",
                f"This step belongs to {step.leg}; the job is on {leg.replace('_', ' ')}.",
            )
        )
    if step.key in set(done):
        found.append(Refusal("done-before", "This step is done already."))
    if step.torque_n_m and not torque_n_m:
        found.append(
            Refusal(
                "torque-missing", f"Write down the torque: {step.torque_n_m} N·m is asked for.", "torque_n_m"
            )
        )
    if step.torque_n_m and torque_n_m and Decimal(torque_n_m) != Decimal(step.torque_n_m):
        said = f"The plan asks for {step.torque_n_m} N·m; {torque_n_m} N·m was read off."
        found.append(Refusal("wrong-torque", said, "torque_n_m"))
    if torque_n_m and not step.torque_n_m:
        found.append(Refusal("torque-unasked", "This step has no torque.", "torque_n_m"))
    return found


def open_steps(plan: Plan, done: Iterable[str], legs: Iterable[str]) -> list[Refusal]:
    """Steps of the legs that are not done, each with its number on the sheet."""
    known, wanted = set(done), set(legs)
    return [
        Refusal("step-open", f"Step {plan.position(step)} is not done: {step.title}.")
        for step in plan.steps
        if step.leg in wanted and step.key not in known
    ]
