"""What a line on the counter must say. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shop.workshop.rules import Refusal

# Our own choice: so many services are looked at, the promise holds for so many of ten, and with fewer than `LEAST` it is a week.
LOOKED_AT, OF_TEN, LEAST, WEEK = 100, 8, 10, 7


@dataclass(frozen=True)
class Put:
    """A line as it is put on the counter: the number of its item (empty before it is itemised) and what goes with it."""

    item: str
    has_plan: bool
    follows: bool
    parts_only: bool
    words: str


def line_refusals(lines: Sequence[Put]) -> list[Refusal]:
    """An item has a plan unless it is parts only, stands on one line, and a line without an item says what it is."""
    found, seen = [], set[str]()
    for i, line in enumerate(lines):
        if line.item and line.item in seen:
            found.append(Refusal("item-twice", f"{line.item} stands on two lines.", f"lines-{i}-item"))
        seen.add(line.item)
        if line.item and not line.has_plan and not line.parts_only:
            said = f"Line {i + 1}: say under which plan {line.item} is serviced."
            found.append(Refusal("plan-missing", said, f"lines-{i}-plan"))
        if not line.item and (line.has_plan or line.follows):
            said = f"Line {i + 1}: a plan needs its item; without one the line is itemised later."
            found.append(Refusal("item-missing", said, f"lines-{i}-item"))
        if not line.item and not line.words:
            said = f"Line {i + 1}: name the item, or say in words what was put on the counter."
            found.append(Refusal("line-empty", said, f"lines-{i}-words"))
    return found


def promise_refusals(promised_on: date, on: date) -> list[Refusal]:
    """A day that has passed cannot be promised."""
    if promised_on >= on:
        return []
    return [Refusal("promise-past", "The promised day has passed already.", "promised_on")]


@dataclass(frozen=True)
class Offered:
    """A plan that an item may come in under: its key, the clocks that it satisfies, whether it was the last one, how many came in under it."""

    key: str
    clocks: tuple[str, ...]
    last: bool = False
    often: int = 0


@dataclass(frozen=True)
class Due:
    """A clock of an item that is due or will be soon; without a day nobody knows when it was done last."""

    title: str
    day: date | None


def usual_plan(plans: Sequence[Offered], due: Mapping[str, Due]) -> tuple[str, str]:
    """The plan that is proposed, by its key, and why: for what is due first, as last time, as most often; else the only one."""
    soonest = min(due, key=lambda key: (due[key].day or date.min, key), default="")
    fitting = sorted(
        (plan for plan in plans if soonest in plan.clocks),
        key=lambda plan: (not plan.last, -sum(key in due for key in plan.clocks), plan.key),
    )
    if fitting:
        clock = due[soonest]
        when = f"is due {clock.day:%-d %b %Y}" if clock.day else "has no known history"
        return fitting[0].key, f"Proposed: {clock.title} {when}."
    for plan in plans:
        if plan.last:
            return plan.key, "Proposed as last time."
    most = max(plans, key=lambda plan: (plan.often, plan.key), default=None)
    if most and most.often and len(plans) > 1:
        return most.key, "Proposed as most often."
    return (plans[0].key, "") if len(plans) == 1 else ("", "")


def usual_days(took: Sequence[int]) -> tuple[int, str]:
    """How many days are promised, and why, from the days that the last services took from drop-off to sign-off."""
    if len(took) < LEAST:
        return WEEK, ""
    days = max(1, sorted(took)[-(-len(took) * OF_TEN // 10) - 1])
    said = f"{OF_TEN} of 10 of the last {len(took)} services were signed off within {days} day"
    return days, f"{said}{'' if days == 1 else 's'}."


def promise_from(on: date, days: int, open_days: Sequence[date]) -> date:
    """The first of the open days that lies so many days after a day; where none does, that day itself."""
    wanted = on + timedelta(days=days)
    return min((day for day in open_days if day >= wanted), default=wanted)
