"""What a method asks a person to type, and reading it: figures with their units, rows of figures, choices.

Everything is typed as text and kept as typed. A figure may carry its unit, `3000 psi`; without one it is in the unit that
the method asks for, and so are the columns of rows. All reasons against what was typed are told at once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from jobs.bench.methods.units import UNITS, UnitError, convert, parse_reading, quoted

MOST_CHARACTERS = 4000
MOST_ROWS = 100


@dataclass(frozen=True)
class Figure:
    """One number, in a unit by name; an empty unit is a count or a plain ratio."""

    key: str
    label: str
    unit: str = ""
    words: str = ""
    optional: bool = False


@dataclass(frozen=True)
class Rows:
    """Several lines of numbers, one number a column, each column in its unit."""

    key: str
    label: str
    columns: tuple[str, ...]
    units: tuple[str, ...]
    least: int
    words: str = ""
    optional: bool = False


@dataclass(frozen=True)
class Choice:
    """One word of several."""

    key: str
    label: str
    options: tuple[str, ...]
    words: str = ""
    optional: bool = False


Ask = Figure | Rows | Choice


class BadFigures(ValueError):
    """What was typed cannot be read; `reasons` are pairs of key and sentence."""

    def __init__(self, reasons: Sequence[tuple[str, str]]):
        self.reasons = tuple(reasons)
        super().__init__(" ".join(sentence for _, sentence in self.reasons))


@dataclass(frozen=True)
class Typed:
    """What was read: figures and rows in the units asked for, exactly; what is optional and empty is not in them."""

    figures: Mapping[str, Decimal]
    rows: Mapping[str, tuple[tuple[Decimal, ...], ...]]
    choices: Mapping[str, str]


def read(asks: Sequence[Ask], given: Mapping[str, str]) -> Typed:
    """Read what was typed; BadFigures with every reason, also for what was not asked."""
    figures: dict[str, Decimal] = {}
    rows: dict[str, tuple[tuple[Decimal, ...], ...]] = {}
    choices: dict[str, str] = {}
    known = {ask.key for ask in asks}
    reasons = [(key, f"{quoted(key)} is not asked for here.") for key in given if key not in known]
    for ask in asks:
        text = given.get(ask.key, "").strip()
        if not text and not ask.optional:
            reasons.append((ask.key, f"{ask.label} is missing."))
        if not text:
            continue
        try:
            match ask:
                case Figure():
                    figures[ask.key] = quantity(text, ask.unit)
                case Rows():
                    rows[ask.key] = _rows(ask, text)
                case _:
                    choices[ask.key] = _option(ask, text)
        except UnitError as error:
            reasons.append((ask.key, f"{ask.label}: {error}"))
    if reasons:
        raise BadFigures(reasons)
    return Typed(figures, rows, choices)


def quantity(text: str, unit: str) -> Decimal:
    """A number with or without its unit, in the unit asked for; UnitError on anything else.

    A unit is written as it is printed or as it is named: `3000 psi`, `0.2 bar/min`.
    """
    number, _, written = text.strip().partition(" ")
    value, written = parse_reading(number), written.strip()
    if not written:
        return value
    if not unit:
        raise UnitError(f"{quoted(text)} is to be a number without a unit.")
    return convert(value, _named(written), unit)


def _named(written: str) -> str:
    """The name of a unit from its name or from its symbol."""
    names = [name for name, each in UNITS.items() if written in (name, each.symbol)]
    if not names:
        raise UnitError(f"{quoted(written)} is not a known unit.")
    return names[0]


def _rows(ask: Rows, text: str) -> tuple[tuple[Decimal, ...], ...]:
    """Lines of numbers between blanks; lines without anything are passed over."""
    lines = [line.split() for line in text.splitlines() if line.strip()]
    if not ask.least <= len(lines) <= MOST_ROWS:
        raise UnitError(f"{ask.least} to {MOST_ROWS} lines are asked for, {len(lines)} were typed.")
    found = []
    for n, words in enumerate(lines, start=1):
        if len(words) != len(ask.columns):
            raise UnitError(f"line {n} is to hold {', '.join(ask.columns)}: {len(ask.columns)} numbers.")
        found.append(tuple(parse_reading(word) for word in words))
    return tuple(found)


def _option(ask: Choice, text: str) -> str:
    if text not in ask.options:
        raise UnitError(f"{quoted(text)} is none of {', '.join(ask.options)}.")
    return text
