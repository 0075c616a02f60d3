"""Results as plain JSON-safe values, so that a verdict can be stored and computed again to the same record."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import Any

from jobs.bench.methods.verdicts import Instrument, Limit, Rule, plain

Record = dict[str, Any]
DROP = "drop under purge"  # of a trace; most plans have no limit for it
SIDES = ("value", "low", "high")
_FIGURES = {
    "lock-up": "lock_up_bar", "time to lock up": "time_to_lock_up_s", "creep": "creep_bar_min",
    DROP: "drop_under_purge_bar",
}  # fmt: skip


def to_record(result: Any) -> Record:
    """A frozen result as a dictionary: numbers as decimal strings, names as in the dataclass, None kept."""
    return {field.name: _plain(getattr(result, field.name)) for field in fields(result)}


def limit_from(record: Mapping[str, Any]) -> Limit:
    """The limit that `to_record` wrote."""
    low, high = record["low"], record["high"]
    return Limit(
        quantity=record["quantity"],
        unit=record["unit"],
        low=None if low is None else Decimal(low),
        high=None if high is None else Decimal(high),
        low_inclusive=record["low_inclusive"],
        high_inclusive=record["high_inclusive"],
        decision=Rule(record["decision"]),
        source=record["source"],
        edition=record["edition"],
        printed=record["printed"],
    )


def instrument_from(record: Mapping[str, Any]) -> Instrument:
    """The instrument that `to_record` wrote."""
    return Instrument(**{name: None if text is None else Decimal(text) for name, text in record.items()})


def estimate_from(record: Mapping[str, Any], quantity: str) -> tuple[str, str, str] | None:
    """Value and 95 % interval of a quantity as a result's record holds them; None when it was not measured."""
    if "text" in record:  # a typed reading
        read, half = Decimal(record["value"]), Decimal(record["uncertainty"] or "0")
        return record["value"], str(read - half), str(read + half)
    if quantity in _FIGURES:
        found = record["figures"].get(_FIGURES[quantity])
        return (found["value"], found["low"], found["high"]) if found else None
    value = _values(record).get(quantity)
    return _sides(value) if value else None


def unlimited(record: Mapping[str, Any]) -> list[tuple[str, str, tuple[str, str, str]]]:
    """What was measured besides and has no limit: its name, its unit, its value with both ends of its interval."""
    limited = {each["quantity"] for each in record["limits"]}
    drop = record.get("figures", {}).get(_FIGURES[DROP])
    measured = _values(record) | ({DROP: drop | {"unit": "bar"}} if drop else {})
    rest = [(name, each) for name, each in measured.items() if name not in limited]
    return [(name, each["unit"], _sides(each)) for name, each in rest]


def _values(record: Mapping[str, Any]) -> Record:
    """The values by quantity, of a method that keeps them so."""
    values: Record = record.get("values") or record.get("figures", {}).get("values", {})
    return values


def _sides(value: Mapping[str, Any]) -> tuple[str, str, str]:
    number, low, high = (plain(Decimal(value[side])) if value[side] else "" for side in SIDES)
    return number, low, high


def _plain(value: Any) -> Any:
    match value:
        case Decimal():
            return f"{value:f}"
        case str():
            return str(value)
        case tuple() | list():
            return [_plain(each) for each in value]
        case dict():
            return {name: _plain(each) for name, each in value.items()}
    return to_record(value) if is_dataclass(value) else value
