"""Whether a draft may be gone on with, and in what two plans differ. Pure."""

from dataclasses import dataclass, fields
from typing import Any

from shop.catalogue.rules import Bound, Plan
from shop.workshop.rules import Refusal, money


def draft_refusals(*, issued: bool, set_aside: bool) -> list[Refusal]:
    """Why nothing more can be done with a draft."""
    if issued:
        return [Refusal("draft-issued", "This draft has been issued: copy the version into a new draft.")]
    return [Refusal("draft-set-aside", "This draft has been set aside.")] if set_aside else []


@dataclass(frozen=True)
class Difference:
    """One thing in which two plans differ: added, taken out or changed, where, and how it reads in each."""

    change: str
    where: str
    what: str
    old: str
    new: str


_SIGNS = {"bar_min": "bar/min", "N_m": "N·m", "percent": "%", "mg_m3": "mg/m³", "degC": "°C"}
_AFTER = {"minutes": " min", "torque_n_m": " N·m", "clock_months": " months"}
_CALLED = {
    "torque_n_m": "torque", "renew": "renewed with part", "minutes": "usual time", "of_set": "of the whole set",
    "clock_months": "again after", "clock_key": "key of the clock", "clock_title": "clock", "oxygen": "oxygen-clean gear",
    "partner": "partner item", "count": "how much", "unit": "counted in", "second_person": "signed by two people", "choice": "one of choice",
}  # fmt: skip
_ROWS = {
    "parts",
    "steps",
    "tests",
    "cautions",
    "price",
    "bounds",
    "functions",
    "also",
    "key",
}  # what stands in rows of its own


def differences(old: Plan, new: Plan, currency: str) -> list[Difference]:
    """What was taken out, added and changed from one plan to another."""
    was, present = _rows(old, currency), _rows(new, currency)
    found = [
        Difference("taken out", name, "", _told(facts), "")
        for key, (name, facts) in was.items()
        if key not in present
    ]
    for key, (name, facts) in present.items():
        before = was.get(key, (name, {}))[1]
        if key not in was:
            found.append(Difference("added", name, "", "", _told(facts)))
            continue
        for what in (*before, *(each for each in facts if each not in before)):
            if before.get(what) != facts.get(what):
                found.append(Difference("changed", name, what, before.get(what, ""), facts.get(what, "")))
    return found + _order(old, new)


def _rows(plan: Plan, currency: str) -> dict[tuple[str, ...], tuple[str, dict[str, str]]]:
    """A plan as rows that keep their key from version to version: what each is called, and what it says."""
    price = {"price": f"{money(plan.price, currency)} {currency}"}
    return {
        ("plan",): ("Plan", _facts(plan) | price),
        **{("caution", text): ("Caution", {"words": text}) for text in plan.cautions},
        **{
            ("clock", row.key): (f"Satisfies too: {row.title}", {"months": str(row.months)})
            for row in plan.also
        },
        **{("part", row.key): (f"Part: {row.name}", _facts(row)) for row in plan.parts},
        **{("step", row.key): (f"Step: {row.title}", _facts(row)) for row in plan.steps},
        **{("test", row.key): (f"Test: {row.title}", _facts(row)) for row in plan.tests},
        **{
            ("limit", test.key, row.quantity): (f"Limit: {test.title}, {row.label}", _limit(row))
            for test in plan.tests
            for row in test.bounds
        },
        **{
            ("function", test.key, row.key): (f"Function: {test.title}, {row.title}", _facts(row))
            for test in plan.tests
            for row in test.functions
        },
    }


def _facts(row: Any) -> dict[str, str]:
    """What a row says, each under its name; what is empty is left out."""
    found = {}
    for name in (each.name for each in fields(row) if each.name not in _ROWS):
        value = getattr(row, name)
        if isinstance(value, bool):
            found[_CALLED.get(name, name)] = "yes" if value else "no"
        elif value not in ("", ()):
            text = ", ".join(value) if isinstance(value, tuple) else str(value)
            found[_CALLED.get(name, name)] = text + _AFTER.get(name, "")
    return found


def _limit(bound: Bound) -> dict[str, str]:
    ends = [f"{word} {text}" for word, text in (("at least", bound.low), ("at most", bound.high)) if text]
    limit = f"{' and '.join(ends)} {_SIGNS.get(bound.unit, bound.unit)}"
    return {"label": bound.label, "limit": limit, "decision": bound.decision, "source": bound.source}


def _told(facts: dict[str, str]) -> str:
    """What a whole row says, in one text."""
    return "; ".join(f"{name}: {text}" for name, text in facts.items() if text != "no")


def _order(old: Plan, new: Plan) -> list[Difference]:
    """The steps that both plans have, when they stand in another order."""
    both = {step.key for step in old.steps} & {step.key for step in new.steps}
    was, present = ([step for step in plan.steps if step.key in both] for plan in (old, new))
    if [step.key for step in was] == [step.key for step in present]:
        return []
    titles = ["; ".join(step.title for step in steps) for steps in (was, present)]
    return [Difference("changed", "Steps", "order", *titles)]
