"""The start-up check that everything the settings name as text is there."""

import logging
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core import checks
from django.utils.module_loading import import_string

from shop.post.rules import without_secrets


class WebConfig(AppConfig):
    name = "shop.web"

    def ready(self) -> None:
        checks.register(names_resolve)


def names_resolve(**_: Any) -> list[checks.CheckMessage]:
    """An error for each panel, or read of figures, or other name in the settings, that cannot be imported."""
    found: list[checks.CheckMessage] = []
    done = (settings.AFTER_RECORDING, settings.AFTER_FOUND_BAD, settings.AFTER_SUPPLIER_CHANGED)
    hooks = (
        *done,
        settings.AFTER_GEAR,
        settings.AFTER_RECEIVING,
        settings.AFTER_ADDRESS_CHANGED,
        [settings.WRITES_LINK],
    )
    lists = (settings.FINDABLE, settings.FIGURES, settings.BLOCKS_LOTS, settings.SPEAKS_FOR_PARTS, *hooks)
    slots = (*lists, *settings.PANELS.values(), *settings.HISTORIES.values())
    for name in (name for names in slots for name in names):
        try:
            import_string(name)
        except ImportError as error:
            found.append(
                checks.Error(f"{name}, named in the settings, cannot be had: {error}", id="web.E001")
            )
    return found


class OneLine(logging.Formatter):
    """One line of the log for each event, its traceback too: nothing that somebody typed begins a line or hides one.

    It names no private link: the library logs the addresses of what was not found, was too much or failed.
    """

    def format(self, record: logging.LogRecord) -> str:
        said = without_secrets(super().format(record))
        return "".join(
            each if each.isprintable() else each.encode("unicode_escape").decode() for each in said
        )
