"""A list of functions gone through one by one: each passes, fails or is not fitted, some with a figure beside it.

One failure is outside; a function that was not tried and a figure that was not read are inconclusive. A figure is held
against the plan's limit where it has one. Which functions there are is the plan's to say, and so is every limit.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from jobs.bench.methods.asked import Ask, BadFigures, Choice, Figure, Typed, read
from jobs.bench.methods.typed_reading import expanded_uncertainty, judged
from jobs.bench.methods.units import symbol
from jobs.bench.methods.verdicts import Decision, Instrument, Limit, Verdict, by_quantity_of, overall, plain
from jobs.bench.methods.worked import Value
from shop.catalogue.rules import Function

METHOD_NAME = "function list"
METHOD_VERSION = "1"
PASS, FAIL, NOT_FITTED = "pass", "fail", "not fitted"
OPTIONS = (PASS, FAIL, NOT_FITTED)


@dataclass(frozen=True)
class Result:
    """The verdict on a list of functions, with everything needed to show it and to compute it again."""

    method: str
    version: str
    verdict: Verdict
    typed: Mapping[str, str]
    functions: tuple[Function, ...]
    values: Mapping[str, Value]
    decisions: Mapping[str, Decision]
    warnings: tuple[str, ...]
    limits: tuple[Limit, ...]
    instruments: Mapping[str, Instrument]


def figure_key(key: str) -> str:
    """The key under which a function's figure is typed."""
    return f"{key}_figure"


def asks(functions: Iterable[Function]) -> tuple[Ask, ...]:
    """What is asked for: one word a function, and a figure where it has a unit; all may stay empty until it was tried."""
    found: list[Ask] = []
    for each in functions:
        found.append(Choice(each.key, each.title, OPTIONS, each.words, optional=True))
        if each.unit:
            found.append(Figure(figure_key(each.key), f"{each.title}, read", each.unit, optional=True))
    return tuple(found)


def judge(
    functions: Sequence[Function],
    given: Mapping[str, str],
    limits: Iterable[Limit] = (),
    facts: Mapping[str, Instrument] | None = None,
) -> Result:
    """Judge each function, by at most one limit a figure; `facts` are the instrument's, by function, in its unit.

    BadFigures with every reason on what cannot be read or meant; ValueError on a limit of no function, or repeated.
    """
    typed, all_limits, known = read(asks(functions), given), tuple(limits), facts or {}
    limited = by_quantity_of(all_limits, {each.key: each.unit for each in functions if each.unit})
    if impossible := _impossible(functions, typed):
        raise BadFigures(impossible)
    decisions = {}
    for each in functions:
        if typed.choices.get(each.key) != NOT_FITTED:
            decisions[each.key] = _decision(each, typed, limited.get(each.key), known.get(each.key))
    return Result(
        method=METHOD_NAME,
        version=METHOD_VERSION,
        verdict=overall(list(decisions.values())),
        typed=dict(given),
        functions=tuple(functions),
        values=_values(functions, typed, known),
        decisions=decisions,
        warnings=tuple(f"{each.title}: not fitted." for each in functions if each.key not in decisions),
        limits=all_limits,
        instruments=known,
    )


def bound(functions: Sequence[Function], facts: Mapping[str, Instrument]) -> Callable[..., Result]:
    """`judge` for one list, called as the judge of every method that takes figures; its own facts are by function."""

    def judge_bound(given: Mapping[str, str], limits: Iterable[Limit], _: Instrument | None) -> Result:
        return judge(functions, given, limits, facts)

    return judge_bound


def _impossible(functions: Iterable[Function], typed: Typed) -> list[tuple[str, str]]:
    return [
        (figure_key(each.key), f"{each.title} is not fitted, so nothing can have been read of it.")
        for each in functions
        if typed.choices.get(each.key) == NOT_FITTED and figure_key(each.key) in typed.figures
    ]


def _decision(
    function: Function, typed: Typed, limit: Limit | None, instrument: Instrument | None
) -> Decision:
    title, said = function.title, typed.choices.get(function.key)
    if said is None:
        return Decision(Verdict.INCONCLUSIVE, f"{title}: not tried.")
    if said == FAIL:
        return Decision(Verdict.OUTSIDE, f"{title}: failed.")
    if not function.unit:
        return Decision(Verdict.WITHIN, f"{title}: passed.")
    value = typed.figures.get(figure_key(function.key))
    if value is None:
        return Decision(Verdict.INCONCLUSIVE, f"{title}: passed, but nothing was read.")
    if limit is None:
        read_as = f"{plain(value)} {symbol(function.unit)}"
        return Decision(
            Verdict.WITHIN, f"{title}: passed; {read_as} was read, for which the plan has no limit."
        )
    decision = judged(value, _spread(instrument), limit.to(function.unit), instrument)
    return Decision(decision.verdict, f"{title}: passed. {decision.sentence}")


def _spread(instrument: Instrument | None) -> Decimal | None:
    return None if instrument is None else expanded_uncertainty(instrument)


def _values(functions: Iterable[Function], typed: Typed, facts: Mapping[str, Instrument]) -> dict[str, Value]:
    found = {}
    for each in functions:
        value, spread = typed.figures.get(figure_key(each.key)), _spread(facts.get(each.key))
        if value is not None:
            sides = (None, None) if spread is None else (value - spread, value + spread)
            found[each.key] = Value(value, each.unit, *sides)
    return found
