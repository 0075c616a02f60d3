"""Gauges: one pressure gauge against a reference, rising and falling. Two depth gauges are in `depth_gauges`.

Errors are in % of span and have no sign, so that a limit with only a high side holds either way. Sources: EN 837-1:1996,
table 11, as read in a scan (the class number is the limit in % of span; it does not speak of diving). In service: German
Eichordnung, annex 16, as read in the legal text (its own limits, rising and falling; hysteresis no more than the initial
limit). US Navy Diving Manual 4-6.1, as read: full scale 130 to 160 % of the highest working pressure; its own example
breaks that, so it is advice. The instrument is the reference; its facts are in bar.
"""

from decimal import Decimal
from fractions import Fraction

from jobs.bench.methods import bounds
from jobs.bench.methods.asked import Ask, BadFigures, Choice, Figure, Rows, Typed
from jobs.bench.methods.spreads import both, value_of
from jobs.bench.methods.typed_reading import expanded_uncertainty
from jobs.bench.methods.units import UNITS
from jobs.bench.methods.verdicts import Instrument, plain
from jobs.bench.methods.worked import Computation, Value, Worked

# The class on the dial is the limit of a new gauge; beside it the limit in service.
CLASSES = {
    "0.1": Decimal("0.15"),
    "0.25": Decimal("0.4"),
    "0.6": Decimal("0.9"),
    "1": Decimal("1.5"),
    "1.6": Decimal("2.4"),
    "2.5": Decimal("3.8"),
    "4": Decimal("6"),
}
NEW, IN_SERVICE = "EN 837-1", "in service"
ADVISED_PERCENT = (130, 160)

RISING, FALLING, HYSTERESIS, ZERO = "error rising", "error falling", "hysteresis", "zero error"
OF_ERROR, OF_HYSTERESIS = "share of allowed error", "share of allowed hysteresis"

_CLASS = "As on the dial. EN 837-1 does not speak of diving."
_RULE = (
    "Empty: EN 837-1, for new gauges. In service: German Eichordnung, annex 16, with a limit on hysteresis."
)
GAUGE_ASKS: tuple[Ask, ...] = (
    Choice("unit", "Unit of all pressures here", ("bar", "psi", "MPa", "kPa", "mbar"), "Empty: bar.", True),
    Figure(
        "span",
        "Span of the gauge",
        words="In bar like all pressures here, unless another unit is chosen below.",
    ),
    Rows("rows", "Readings", ("reference", "rising", "falling"), ("", "", ""), least=2),
    Choice("class", "Class of the gauge", tuple(CLASSES), _CLASS, optional=True),
    Choice("rule", "Rule of the class", (NEW, IN_SERVICE), _RULE, optional=True),
    Figure("allowed", "Allowed error instead of a class", "percent", "In % of span.", optional=True),
    Figure("working", "Highest working pressure", words="For advice on the full scale.", optional=True),
)
GAUGE_BOUNDS = {
    "span": (Decimal("0.001"), Decimal(1_000_000)),
    "allowed": (Decimal("0.001"), Decimal(100)),
    "working": (Decimal("0.001"), Decimal(1_000_000)),
}
Row = tuple[Decimal, Decimal, Decimal]


def gauge_check(typed: Typed, instrument: Instrument | None) -> Worked:
    """The largest errors; BadFigures on rows that cannot be meant. Zero only where a row has the reference at 0.

    Shares are in % of what the class, its rule or the allowed error allow: a limit of 100 % holds them against it.
    """
    figures = typed.figures
    bounds.check(GAUGE_ASKS, figures, GAUGE_BOUNDS)
    rows: list[Row] = [(row[0], row[1], row[2]) for row in typed.rows["rows"]]
    _check(typed, rows)
    span = Fraction(figures["span"])
    half = _half_percent(instrument, typed.choices.get("unit", "bar"), span)
    found = {
        RISING: max(abs(rising - reference) for reference, rising, _ in rows),
        FALLING: max(abs(falling - reference) for reference, _, falling in rows),
        HYSTERESIS: max(abs(rising - falling) for _, rising, falling in rows),
    }
    zeros = [max(abs(rising), abs(falling)) for reference, rising, falling in rows if not reference]
    found |= {ZERO: zeros[0]} if zeros else {}
    parts = {name: Fraction(error) * 100 / span for name, error in found.items()}
    # Two readings of the reference stand behind hysteresis.
    halves = {name: half if name != HYSTERESIS else both(half) for name in parts}
    values = {name: value_of(part, halves[name]) for name, part in parts.items()}
    allowed, allowed_hysteresis = _allowed(typed)
    if allowed is not None:
        values[OF_ERROR] = _share(max(parts[RISING], parts[FALLING]), half, allowed)
    if allowed_hysteresis is not None:
        values[OF_HYSTERESIS] = _share(parts[HYSTERESIS], halves[HYSTERESIS], allowed_hysteresis)
    return Worked(values=values, warnings=tuple(_notes(typed, rows)), doubts=_doubts(typed, rows, instrument))


def _check(typed: Typed, rows: list[Row]) -> None:
    span, references = typed.figures["span"], [row[0] for row in rows]
    reasons = []
    if not all(0 <= reference <= span for reference in references):
        reasons.append(("rows", f"Each reference is to be 0 to the span of {plain(span)}."))
    if len(set(references)) < len(references):
        reasons.append(("rows", "A reference stands in two rows."))
    if any(abs(shown - reference) > span for reference, *both in rows for shown in both):
        reasons.append(("rows", "A reading is further off than the whole span."))
    if "class" in typed.choices and "allowed" in typed.figures:
        reasons.append(("allowed", "Give the class or an allowed error, not both."))
    if "rule" in typed.choices and "class" not in typed.choices:
        reasons.append(("rule", "The rule needs the class of the gauge."))
    if reasons:
        raise BadFigures(reasons)


def _half_percent(instrument: Instrument | None, unit: str, span: Fraction) -> Fraction | None:
    """Half the 95 % interval of one reading of the reference, in % of span."""
    half_bar = None if instrument is None else expanded_uncertainty(instrument)
    if half_bar is None:
        return None
    return Fraction(half_bar) * UNITS["bar"].size / UNITS[unit].size * 100 / span


def _share(value: Fraction, half: Fraction | None, allowed: Decimal) -> Value:
    of = Fraction(allowed) / 100
    return value_of(value / of, None if half is None else half / of)


def _allowed(typed: Typed) -> tuple[Decimal | None, Decimal | None]:
    """What is allowed of error and of hysteresis, in % of span; None where nothing is known to be."""
    name = typed.choices.get("class")
    if name is None:
        return typed.figures.get("allowed"), None
    if typed.choices.get("rule", NEW) == NEW:
        return Decimal(name), None
    return CLASSES[name], Decimal(name)


def _notes(typed: Typed, rows: list[Row]) -> list[str]:
    """Where it is most wrong, what was not covered, and advice on the full scale."""
    span, references = typed.figures["span"], [row[0] for row in rows]
    found = []
    for word, column in (("rising", 1), ("falling", 2)):
        _, reference, shown = max((abs(row[column] - row[0]), row[0], row[column]) for row in rows)
        found.append(f"Most wrong {word} at {plain(reference)}, where it shows {plain(shown)}.")
    if min(references) > 0 or max(references) < span:
        found.append(
            f"The readings go from {plain(min(references))} to {plain(max(references))} of a span of {plain(span)}: "
            "nothing is known beyond."
        )
    advice = advice_on_full_scale(span, typed.figures.get("working"))
    return [*found, advice] if advice else found


def advice_on_full_scale(full_scale: Decimal, working: Decimal | None) -> str:
    """A sentence where the full scale is not 130 to 160 % of the highest working pressure, both in one unit."""
    low, high = ADVISED_PERCENT
    if working is None or low * working <= full_scale * 100 <= high * working:
        return ""
    percent = Fraction(full_scale) * 100 / Fraction(working)
    return (
        f"Full scale is {float(percent):.0f} % of the highest working pressure; the US Navy Diving Manual, 4-6.1, advises "
        f"{low} to {high} % (its own example calls 167 % satisfactory). Advice, no limit."
    )


def _doubts(typed: Typed, rows: list[Row], instrument: Instrument | None) -> tuple[str, ...]:
    end = None if instrument is None else instrument.range_high
    highest = max(row[0] for row in rows)
    size = UNITS[typed.choices.get("unit", "bar")].size / UNITS["bar"].size
    if end is not None and Fraction(highest) * size > Fraction(end):
        return ("A reference pressure lies beyond the range of the reference instrument.",)
    return ()


GAUGE_QUANTITIES = dict.fromkeys((RISING, FALLING, HYSTERESIS, ZERO, OF_ERROR, OF_HYSTERESIS), "percent")
COMPUTATION = Computation("gauge check", "1", GAUGE_ASKS, GAUGE_QUANTITIES, gauge_check)
