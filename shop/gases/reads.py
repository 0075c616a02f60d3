"""The oxygen threshold of this workshop."""

from shop.gases.rules import Setting
from shop.workshop.reads import columns


def setting() -> Setting:
    """Above which share of oxygen gas counts as enriched; the strict default before the workshop is opened."""
    rows = columns("SELECT oxygen_threshold, version FROM workshop_workshop")
    return Setting(*rows[0]) if rows else Setting()
