"""What a figure is worth against a limit: within, outside, or inconclusive.

Two decision rules. *Guarded*: the whole 95 % interval must lie on one side of the limit, otherwise the figure is
inconclusive. *Simple*: the value alone decides, where the maker means that. Source of the two names' meaning: the
project's own design; they are the usual guard-band and simple-acceptance rules of measurement practice.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from jobs.bench.methods.units import convert, symbol

# A standard uncertainty times 2 covers about 95 % of a normal distribution.
COVERAGE_FACTOR = 2


class Verdict(StrEnum):
    """The three things a figure can be; never a bare boolean."""

    WITHIN = "within"
    OUTSIDE = "outside"
    INCONCLUSIVE = "inconclusive"


class Rule(StrEnum):
    """Which part of a measurement decides: its whole interval, or its value."""

    GUARDED = "guarded"
    SIMPLE = "simple"


@dataclass(frozen=True)
class Limit:
    """One limit of a service plan. A side that is None is open; ValueError if both are, or if they are crossed.

    `source` and `edition` say where it stands; `printed` keeps its words there once it has been converted.
    """

    quantity: str
    unit: str
    low: Decimal | None = None
    high: Decimal | None = None
    low_inclusive: bool = True
    high_inclusive: bool = True
    decision: Rule = Rule.GUARDED
    source: str = ""
    edition: str = ""
    printed: str = ""

    def __post_init__(self) -> None:
        """Refuse a limit that cannot be meant."""
        if self.low is None and self.high is None:
            raise ValueError(f"The limit for {self.quantity} has neither a low nor a high side.")
        if not all(side is None or side.is_finite() for side in (self.low, self.high)):
            raise ValueError(f"The limit for {self.quantity} is not a finite number.")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(
                f"The limit for {self.quantity} has its low side {self.low} above its high {self.high}."
            )

    def __str__(self) -> str:
        """The limit in words, with its unit: `9.0 to 10.0 bar`, `at most 0.05 bar/min either way`."""
        low_word = "at least" if self.low_inclusive else "more than"
        high_word = "at most" if self.high_inclusive else "less than"
        sides = ((low_word, self.low), (high_word, self.high))
        words = " and ".join(f"{word} {plain(side)}" for word, side in sides if side is not None)
        either_way = ""
        if self.low is not None and self.high is not None and self.low_inclusive and self.high_inclusive:
            words = f"{plain(self.low)} to {plain(self.high)}"
            if self.low == -self.high:
                words, either_way = f"at most {plain(self.high)}", " either way"
        printed = f" (printed as {self.printed})" if self.printed else ""
        return f"{words} {symbol(self.unit)}{either_way}{printed}"

    def allows(self, value: Decimal) -> bool:
        """Whether one exact value, in the limit's unit, is inside."""
        return not self.is_below(value) and not self.is_above(value)

    def is_below(self, value: Decimal) -> bool:
        """Whether a value is outside on the low side."""
        return self.low is not None and (value < self.low or (value == self.low and not self.low_inclusive))

    def is_above(self, value: Decimal) -> bool:
        """Whether a value is outside on the high side."""
        return self.high is not None and (
            value > self.high or (value == self.high and not self.high_inclusive)
        )

    def to(self, unit: str) -> "Limit":
        """The same limit in another unit of its kind; UnitError if the kinds differ."""
        if unit == self.unit:
            return self
        low = None if self.low is None else convert(self.low, self.unit, unit)
        high = None if self.high is None else convert(self.high, self.unit, unit)
        return replace(self, unit=unit, low=low, high=high, printed=self.printed or str(self))


@dataclass(frozen=True)
class Instrument:
    """What is known of the instrument, each in the unit of the reading or None: smallest step, end of scale, and the
    standard uncertainty (k = 1) from its calibration."""

    resolution: Decimal | None = None
    range_high: Decimal | None = None
    standard_uncertainty: Decimal | None = None


@dataclass(frozen=True)
class Decision:
    """A verdict and the sentence that a person reads."""

    verdict: Verdict
    sentence: str


def plain(number: Decimal) -> str:
    """A number for a sentence: never with an exponent, and six significant digits where it has more than eight."""
    if len(number.as_tuple().digits) > 8:
        number = Decimal(f"{number:.6g}")
    return f"{number:f}"


def decide(value: Decimal, low95: Decimal, high95: Decimal, limit: Limit) -> Decision:
    """Judge a value and its 95 % interval, all in the limit's unit, by the limit's own rule.

    ValueError if the three numbers are not finite and in order low95 <= value <= high95.
    """
    if not (value.is_finite() and low95.is_finite() and high95.is_finite() and low95 <= value <= high95):
        raise ValueError(f"The interval {low95} to {high95} does not hold the value {value}.")
    if limit.decision is Rule.SIMPLE:
        verdict = Verdict.WITHIN if limit.allows(value) else Verdict.OUTSIDE
    elif limit.allows(low95) and limit.allows(high95):
        verdict = Verdict.WITHIN
    elif limit.is_below(high95) or limit.is_above(low95):
        verdict = Verdict.OUTSIDE
    else:
        verdict = Verdict.INCONCLUSIVE
    return Decision(verdict, _sentence(value, low95, high95, limit, verdict))


def by_quantity_of(limits: Iterable[Limit], quantities: Mapping[str, str]) -> dict[str, Limit]:
    """Limits by what they limit, each in the unit in which a method measures it.

    ValueError on a quantity that the method has not, or that is limited twice; UnitError on a unit of another kind.
    """
    found: dict[str, Limit] = {}
    for limit in limits:
        if limit.quantity not in quantities:
            raise ValueError(f"This method measures {', '.join(quantities)}; it has no {limit.quantity!r}.")
        if limit.quantity in found:
            raise ValueError(f"There are two limits for {limit.quantity}.")
        found[limit.quantity] = limit.to(quantities[limit.quantity])
    return found


def overall(decisions: list[Decision]) -> Verdict:
    """One verdict for several: outside if any is, else inconclusive if any is or if there is none, else within."""
    verdicts = {decision.verdict for decision in decisions}
    if Verdict.OUTSIDE in verdicts:
        return Verdict.OUTSIDE
    if verdicts == {Verdict.WITHIN}:
        return Verdict.WITHIN
    return Verdict.INCONCLUSIVE


def _sentence(value: Decimal, low95: Decimal, high95: Decimal, limit: Limit, verdict: Verdict) -> str:
    name = limit.quantity[:1].upper() + limit.quantity[1:]
    measured = f"{name} {plain(value)} {symbol(limit.unit)}"
    interval = f"95 % interval {plain(low95)} to {plain(high95)} {symbol(limit.unit)}"
    if limit.decision is Rule.SIMPLE:
        return f"{measured} is {verdict}: limit {limit}, judged by the value alone."
    if verdict is Verdict.INCONCLUSIVE:
        return f"{measured} is inconclusive: its {interval} straddles the limit {limit}."
    return f"{measured}, {interval}, is {verdict}: limit {limit}."
