"""Whether a step may be called done, and which steps still stand open. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import TypeVar

from jobs.flow.rules import still_counts
from shop.catalogue.rules import Plan, Step
from shop.workshop.rules import Refusal

T = TypeVar("T")


def counting_refusals(plan: Plan, step: Step, counted: int | None) -> list[Refusal]:
    """The loose parts in the tray must be as many as the step frees."""
    freed = [part for part in plan.freed(step) if part.pieces]
    expected = sum(part.pieces for part in freed)
    where = f"Step {plan.position(step)}, {step.title}"
    if not expected:
        return (
            [] if counted is None else [Refusal("count-unasked", f"{where}: it frees no parts.", "counted")]
        )
    if counted is None:
        return [Refusal("not-counted", f"{where}: count the {expected} loose parts.", "counted")]
    if counted == expected:
        return []
    names = [part.spoken for part in freed]
    listed = ", ".join(names[:-1]) + " or " + names[-1] if len(names) > 1 else names[0]
    verb = "is" if expected - counted == 1 else "are"
    if counted < expected:
        said = f"{where}: {expected - counted} of {expected} {verb} missing: {listed}?"
    else:
        said = f"{where}: {counted} counted, {expected} expected; which one is too many?"
    return [Refusal("wrong-count", said, "counted")]


def doing_refusals(plan: Plan, step: Step, leg: str, done: Mapping[str, bool]) -> list[Refusal]:
    """A step is done or omitted on its own leg, once, and of alternatives one is done.

    `done` tells of each step of the sheet that was dealt with whether it was done (True) or omitted.
    """
    found = []
    if step.leg != leg:
        said = f"This step belongs to {step.leg}; the job is on {leg.replace('_', ' ')}."
        found.append(Refusal("wrong-leg", said))
    if step.key in done:
        found.append(Refusal("done-before", "This step is done already."))
    if step.choice and any(done.get(each.key) for each in plan.steps if each.choice == step.choice):
        found.append(Refusal("alternative-done", "Another of these alternatives is done already."))
    return found


def torque_refusals(step: Step, torque_n_m: str) -> list[Refusal]:
    """A torque is read off when the step has one, and is the one asked for."""
    if not step.torque_n_m:
        return [Refusal("torque-unasked", "This step has no torque.", "torque_n_m")] if torque_n_m else []
    if not torque_n_m:
        said = f"Write down the torque: {step.torque_n_m} N·m is asked for."
        return [Refusal("torque-missing", said, "torque_n_m")]
    if Decimal(torque_n_m) != Decimal(step.torque_n_m):
        said = f"The plan asks for {step.torque_n_m} N·m; {torque_n_m} N·m was read off. Bring it to that, and type what the wrench shows then."
        return [Refusal("wrong-torque", said, "torque_n_m")]
    return []


def omitting_refusals(plan: Plan, step: Step, torque_n_m: str, counted: int | None) -> list[Refusal]:
    """An omitted step has nothing read off or counted."""
    if not torque_n_m and counted is None:
        return []
    where = f"Step {plan.position(step)}, {step.title}"
    return [Refusal("omitted", f"{where}: either it was done or it was omitted.", "omitted")]


def open_steps(
    plan: Plan, done: Mapping[str, bool], legs: Iterable[str], *, only: Step | None = None
) -> list[Refusal]:
    """Steps of the legs that are neither done nor omitted, nor the alternative of a done one, each with its number."""
    wanted = set(legs)
    chosen = {step.choice for step in plan.steps if step.choice and done.get(step.key)}
    return [
        Refusal("step-open", f"Step {plan.position(step)} is not done: {step.title}.")
        for step in ([only] if only else plan.steps)
        if step.leg in wanted and step.key not in done and step.choice not in chosen
    ]


def counting(plan: Plan, backs: Sequence[str], rows: Iterable[tuple[str, int, T]]) -> dict[str, T]:
    """The newest of the rows that still count, by key of the step: (key, recorded after so many moves back, what is kept)."""
    return {
        key: row
        for key, recorded_after, row in rows
        if (step := plan.step(key)) and still_counts(plan.legs, step.leg, recorded_after, backs)
    }


def still_in(plan: Plan, done: Mapping[str, bool]) -> set[str]:
    """Parts that stay in the gear: the step that frees them was omitted, or its alternative was done."""
    chosen = {step.choice for step in plan.steps if step.choice and done.get(step.key)}
    return {
        key
        for step in plan.steps
        if done.get(step.key) is False or (step.key not in done and step.choice in chosen)
        for key in step.frees
    }


# How a unit is printed where that is not its name.
_SYMBOLS = {
    "bar_min": "bar/min",
    "psi_min": "psi/min",
    "N_m": "N·m",
    "J_l": "J/L",
    "ml": "mL",
    "g_min": "g/min",
    "l_min": "L/min",
    "ml_min": "mL/min",
    "per_min": "/min",
}


def unit_symbol(unit: str) -> str:
    """How a unit is printed: bar/min for bar_min."""
    return _SYMBOLS.get(unit, unit)


def limit_words(low: str, high: str, unit: str, *, strict: bool = False) -> str:
    """A limit in words, with its unit."""
    least, most = ("more than", "less than") if strict else ("at least", "at most")
    sides = f"{least} {low}" if low else f"{most} {high}"
    if low and high:
        sides = f"{sides} and {most} {high}" if strict else f"{low} to {high}"
    return f"{sides} {unit_symbol(unit)}"
