"""Constraints of the store that guards break: name, columns or changes, table."""

from typing import Any

ONCE: list[tuple[str, str, str, dict[str, Any]]] = [
    ("lot_once", "stock_lot.part_id, stock_lot.number", "stock_lot", {"on_hand": 0}),
    ("count_one_open_a_bin", "counts_count.bin_id", "counts_count", {}),
    ("count_line_once", "counts_line.count_id, counts_line.lot_id, counts_line.n", "counts_line", {}),
    ("bin_once", "stock_bin.site, stock_bin.label", "stock_bin", {}),
    ("content_once", "stock_content.kit_id, stock_content.part_id", "stock_content", {}),
    ("site_level_once", "sites_sitelevel.part_id, sites_sitelevel.site", "sites_sitelevel", {}),
    (
        "alternative_once",
        "alternatives_alternative.part_id, alternatives_alternative.other_id",
        "alternatives_alternative",
        {"supersedes": False},
    ),
    (
        "alternative_superseded_once",
        "alternatives_alternative.part_id",
        "alternatives_alternative",
        {"other_id": 1},
    ),
]
KNOWN: list[tuple[str, str, dict[str, Any]]] = [
    ("content_of_something", "stock_content", {"count": 0}),
    ("count_closed_by_somebody", "counts_count", {"booked": True}),
    ("count_closed_by_somebody", "counts_count", {"closed_at": "2026-11-25 12:00:00+00:00"}),
    ("site_level_above_its_minimum", "sites_sitelevel", {"up_to": 1}),
    ("site_level_above_its_minimum", "sites_sitelevel", {"minimum": None}),
    ("alternative_with_its_condition", "alternatives_alternative", {"condition": ""}),
    ("alternative_with_its_condition", "alternatives_alternative", {"source": ""}),
]
