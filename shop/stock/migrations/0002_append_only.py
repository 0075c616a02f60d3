"""Triggers that refuse any edit of what is append-only."""

from django.db import migrations

from shop.journal.rules import append_only_sql, drop_append_only_sql

TABLES = ["stock_movement"]


def put_up(apps, schema_editor):
    for table in TABLES:
        for statement in append_only_sql(schema_editor.connection.vendor, table):
            schema_editor.execute(statement)


def take_down(apps, schema_editor):
    for table in TABLES:
        for statement in drop_append_only_sql(schema_editor.connection.vendor, table):
            schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("stock", "0001_initial")]
    operations = [migrations.RunPython(put_up, take_down)]
