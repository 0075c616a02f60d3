"""What migrations of any room use to make their tables append-only."""

from typing import Any

from django.db import migrations

from shop.journal.rules import append_only_sql, drop_append_only_sql


def append_only(*tables: str) -> migrations.RunPython:
    """The operation that puts the triggers up on tables of settings.APPEND_ONLY, and takes them down again."""

    def run(statements: Any) -> Any:
        def through(apps: Any, schema_editor: Any) -> None:
            connection = schema_editor.connection
            for table in tables:
                for statement in statements(connection.vendor, table, columns_of(connection, table)):
                    schema_editor.execute(statement)

        return through

    return migrations.RunPython(run(append_only_sql), run(drop_append_only_sql))


def columns_of(connection: Any, table: str) -> list[str]:
    """The names of a table's columns."""
    with connection.cursor() as cursor:
        return [row.name for row in connection.introspection.get_table_description(cursor, table)]
