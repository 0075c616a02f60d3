"""The terms of the workshop, and its rates of tax on a day."""

from datetime import date

from shop.money.rules import Rate, Terms
from shop.workshop.reads import columns


def terms() -> Terms:
    """How the workshop reckons; without any of it before it is opened."""
    rows = columns(
        "SELECT prices_include_tax, tax_rounding, rounding_source, usual_rate, nudge_days, smallest_coin, currency, tax_number, version "
        "FROM workshop_workshop"
    )
    return Terms(bool(rows[0][0]), *rows[0][1:]) if rows else Terms()


def rates(day: date) -> dict[str, Rate]:
    """The rates that stand on a day, by name."""
    rows = columns(
        "SELECT name, share FROM money_taxrate WHERE from_day <= %s ORDER BY from_day, id", day.isoformat()
    )
    return {name: Rate(name, share) for name, share in dict(rows).items() if share is not None}
