"""The start-up check of triggers: altering a table on SQLite drops its triggers without a word."""

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core import checks
from django.db import connection


class JournalConfig(AppConfig):
    name = "shop.journal"

    def ready(self) -> None:
        checks.register(triggers_stand, checks.Tags.database)


def missing_triggers() -> list[str]:
    """The triggers that should stand on the tables that exist and do not."""
    tables = connection.introspection.table_names()
    if connection.vendor == "sqlite":
        sql, verbs = "SELECT name FROM sqlite_master WHERE type = 'trigger'", ("update", "delete")
    else:
        sql, verbs = "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D'", ("change", "truncate")
    with connection.cursor() as cursor:
        cursor.execute(sql)
        standing = {name for (name,) in cursor.fetchall()}
    wanted = [(table, f"{table}_no_{verb}") for table in settings.APPEND_ONLY for verb in verbs]
    wanted += settings.OTHER_TRIGGERS
    return [name for table, name in wanted if table in tables and name not in standing]


def triggers_stand(*, databases: Sequence[str] | None = None, **_: Any) -> list[checks.CheckMessage]:
    """An error for each trigger that a table lacks."""
    return [
        checks.Error(
            f"The trigger {name} is missing.",
            hint="Restore a backup, or have a migration put the trigger back; find out who dropped it.",
            id="journal.E001",
        )
        for name in (missing_triggers() if databases else [])
    ]
