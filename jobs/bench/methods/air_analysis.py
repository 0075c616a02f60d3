"""An analysis of breathing air, held against a published table that is chosen by its name and edition.

The figures are those of a laboratory's sheet or of an analyser. A limit that the plan has of its own takes the place of the
table's row, and the record says so; what neither limits is shown and not judged. An analysis tells of the sample alone.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal

from jobs.bench.methods import bounds, worked
from jobs.bench.methods.air_tables import (
    CO,
    CO2,
    CYLINDER,
    DEW_POINT,
    HYDROCARBONS,
    OIL,
    OUTLET,
    OXYGEN,
    QUANTITIES,
    TABLES,
    WATER,
    AirTable,
)
from jobs.bench.methods.asked import BadFigures, Choice, Figure, Typed, read
from jobs.bench.methods.verdicts import Decision, Instrument, Limit, Verdict, by_quantity_of, overall
from jobs.bench.methods.worked import Computation, Value, Worked

METHOD_NAME = "air analysis"
METHOD_VERSION = "1"
ODOUR = "odour"
NONE, SLIGHT, MARKED = "no odour", "slight", "marked"
KEYS = {
    "oxygen": OXYGEN,
    "co": CO,
    "co2": CO2,
    "oil": OIL,
    "hydrocarbons": HYDROCARBONS,
    "water": WATER,
    "dew_point": DEW_POINT,
}
_LEAST = "Where the sheet says less than a figure, type that figure."
ASKS = (
    Choice(
        "table",
        "Published table and edition",
        tuple(TABLES),
        "The one that this air is to keep. A limit of the plan's own takes the place of the table's.",
    ),
    Choice("where", "Sampled at", (OUTLET, CYLINDER)),
    Figure("pressure", "Filling pressure of the cylinder", "bar", "Some limits on water hang on it.", optional=True),
    Figure("oxygen", "Oxygen", "percent", optional=True),
    Figure("co", "Carbon monoxide, CO", "ppm", _LEAST, optional=True),
    Figure("co2", "Carbon dioxide, CO₂", "ppm", "A figure in % is read as well: 0.05 %.", optional=True),
    Figure("oil", "Oil: mist, vapour, condensed", "mg_m3", _LEAST, optional=True),
    Figure("hydrocarbons", "Hydrocarbons, as methane", "ppm", optional=True),
    Figure("water", "Water", "mg_m3", "Or the dew point, as the table asks.", optional=True),
    Figure("dew_point", "Dew point", "degC", optional=True),
    Choice("odour", "Odour", (NONE, SLIGHT, MARKED), optional=True),
)  # fmt: skip
BOUNDS = {key: (Decimal(0), Decimal(1_000_000)) for key in KEYS} | {
    "oxygen": (Decimal(0), Decimal(100)),
    "dew_point": (Decimal(-110), Decimal(60)),
    "pressure": (Decimal(1), Decimal(500)),
}


def work(typed: Typed, _: Instrument | None) -> Worked:
    """The figures by what they are of; a laboratory states no interval, so none is known."""
    bounds.check(ASKS, typed.figures, BOUNDS)
    return Worked(
        {name: Value(typed.figures[key], QUANTITIES[name]) for key, name in KEYS.items() if key in typed.figures}
    )  # fmt: skip


COMPUTATION = Computation(METHOD_NAME, METHOD_VERSION, ASKS, QUANTITIES, work)


def judge(
    given: Mapping[str, str], limits: Iterable[Limit] = (), instrument: Instrument | None = None
) -> worked.Result:
    """Hold the figures against the chosen table and the plan's own limits; BadFigures with every reason.

    The result keeps every limit that was asked, the table's too, so that it is computed again by the same.
    """
    typed = read(ASKS, given)
    table, where, bar = TABLES[typed.choices["table"]], typed.choices["where"], typed.figures.get("pressure")
    if where == CYLINDER and table.by_pressure and bar is None:
        said = "Filling pressure of the cylinder is missing: this table's limit on water hangs on it."
        raise BadFigures([("pressure", said)])
    rows = table.limits(where, bar)
    own = by_quantity_of(limits, QUANTITIES)
    asked = rows | own
    result = worked.judge(COMPUTATION, given, asked.values(), instrument)
    smelt = {} if table.slight is None else {ODOUR: _odour(table, typed.choices.get("odour", ""))}
    decisions = {**result.decisions, **smelt}
    return replace(
        result,
        verdict=overall(list(decisions.values())),
        decisions=decisions,
        warnings=tuple(_warnings(table, rows, own, smelt)),
    )


def _odour(table: AirTable, said: str) -> Decision:
    words = f"{table.name} asks for {table.odour}"
    if not said:
        return Decision(Verdict.INCONCLUSIVE, f"Odour was not stated; {words}.")
    assert table.slight is not None
    verdict = {NONE: Verdict.WITHIN, SLIGHT: table.slight, MARKED: Verdict.OUTSIDE}[said]
    more = " Whether it is that is for a person to judge." if verdict is Verdict.INCONCLUSIVE else ""
    return Decision(verdict, f"Odour, {said}, is {verdict}: {words}.{more}")


def _warnings(
    table: AirTable, rows: Mapping[str, Limit], own: Mapping[str, Limit], smelt: Mapping[str, Decision]
) -> Iterator[str]:
    yield from (each.sentence for each in smelt.values() if each.verdict is not Verdict.WITHIN)
    instead = [name for name in own if name in rows and own[name] != rows[name]]
    if instead:
        yield f"The plan's own limit stands in place of the table's: {', '.join(instead)}."
    if free := [name for name in QUANTITIES if name not in rows and name not in own]:
        yield f"Without a limit here, in {table.name} and in the plan: {', '.join(free)}."
