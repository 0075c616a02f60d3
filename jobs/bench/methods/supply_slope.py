"""How the lock-up pressure of a first stage follows its supply pressure, and whether that fits the design it declares.

Force balance, everything gauge to ambient (own derivation): the supply pushes the valve of an unbalanced piston open, so its
lock-up rises with the supply by seat area over piston area; it holds the valve of an unbalanced diaphragm shut, so its
lock-up falls; a balanced one hardly moves. Only the sign tells of the design; what slope is still good is the plan's limit.
"""

from decimal import Decimal, localcontext

from jobs.bench.methods.asked import BadFigures, Choice, Rows, Typed
from jobs.bench.methods.typed_reading import expanded_uncertainty
from jobs.bench.methods.units import SIGNIFICANT_DIGITS
from jobs.bench.methods.verdicts import Instrument, plain
from jobs.bench.methods.worked import Computation, Value, Worked

SLOPE = "slope of lock-up on supply"
BALANCED, PISTON, DIAPHRAGM = "balanced", "unbalanced piston", "unbalanced diaphragm"
LEAST_APART_BAR = Decimal(
    50
)  # closer together, the step of a gauge alone makes a slope (the project's own choice)
MOST_BAR = Decimal(1000)
PLACES = Decimal("0.0001")

ASKS = (
    Choice("design", "Declared design", (BALANCED, PISTON, DIAPHRAGM)),
    Rows(
        "rows", "Lock-up at each supply", ("supply", "lock-up"), ("bar", "bar"), 2,
        "Both as gauge pressures, from the highest supply down.",
    ),
)  # fmt: skip


def work(typed: Typed, instrument: Instrument | None) -> Worked:
    """The least-squares slope in % (bar for each 100 bar) and its 95 % interval from the instrument's facts, in bar.

    BadFigures where the supplies lie too close together or a pressure cannot be meant. No interval without an instrument
    whose step or uncertainty is known.
    """
    rows = typed.rows["rows"]
    supplies = [row[0] for row in rows]
    _check(rows, supplies)
    with localcontext(prec=SIGNIFICANT_DIGITS):
        count = Decimal(len(rows))
        middle = sum(supplies, Decimal(0)) / count
        spread = sum(((x - middle) ** 2 for x in supplies), Decimal(0))
        slope = 100 * sum(((x - middle) * y for x, y in rows), Decimal(0)) / spread
        half_bar = None if instrument is None else expanded_uncertainty(instrument)
        half = None if half_bar is None else 100 * half_bar / spread.sqrt()
    value = _value(slope, half)
    return Worked({SLOPE: value}, warnings=(_fits(typed.choices["design"], value),))


def _check(rows: tuple[tuple[Decimal, ...], ...], supplies: list[Decimal]) -> None:
    reasons = []
    if any(not 0 < pressure <= MOST_BAR for row in rows for pressure in row):
        reasons.append(("rows", f"Each pressure is to be above 0 and at most {plain(MOST_BAR)} bar."))
    if any(lock_up >= supply for supply, lock_up in rows):
        reasons.append(("rows", "A lock-up is not below its supply: are the columns the other way round?"))
    if max(supplies) - min(supplies) < LEAST_APART_BAR:
        said = f"The supplies lie less than {plain(LEAST_APART_BAR)} bar apart, too close to tell a slope."
        reasons.append(("rows", said))
    if reasons:
        raise BadFigures(reasons)


def _value(slope: Decimal, half: Decimal | None) -> Value:
    shown = slope.quantize(PLACES)
    if half is None:
        return Value(shown, "percent")
    outwards = half.quantize(PLACES) + PLACES
    return Value(shown, "percent", shown - outwards, shown + outwards)


def _fits(design: str, value: Value) -> str:
    """Whether the sign fits the declared design, as far as the interval lets it be told."""
    low, high = (
        (value.value, value.value) if value.low is None or value.high is None else (value.low, value.high)
    )
    rises, falls = low > 0, high < 0
    shows = "rises" if rises else "falls" if falls else "stays"
    wanted = {BALANCED: "stays", PISTON: "rises", DIAPHRAGM: "falls"}[design]
    said = f"Lock-up {shows} with the supply, as far as this instrument tells; with the design {design} it {wanted}."
    return (
        said
        if shows == wanted
        else f"{said} That does not fit: look at the declared design, the seat and the set-up."
    )


COMPUTATION = Computation(
    name="lock-up over supply",
    version="1",
    asks=ASKS,
    quantities={SLOPE: "percent"},
    work=work,
)
