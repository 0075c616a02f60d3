"""Trigrams of what is searched: an index on PostgreSQL; on SQLite a full-text table that triggers keep equal.

pg_trgm is a trusted extension: the owner of a database may create it there. The full-text table keeps no words of its
own, only where they stand, so each trigger tells it what goes out and what comes in.
"""

from django.db import migrations

OUT = "INSERT INTO search_trigrams (search_trigrams, rowid, words) VALUES ('delete', OLD.id, OLD.words);"
IN = "INSERT INTO search_trigrams (rowid, words) VALUES (NEW.id, NEW.words);"
SQLITE = [
    "CREATE VIRTUAL TABLE search_trigrams USING fts5 "
    "(words, content='search_findable', content_rowid='id', tokenize='trigram case_sensitive 1')",
    f"CREATE TRIGGER search_findable_added AFTER INSERT ON search_findable BEGIN {IN} END",
    f"CREATE TRIGGER search_findable_changed AFTER UPDATE ON search_findable BEGIN {OUT} {IN} END",
    f"CREATE TRIGGER search_findable_taken_away AFTER DELETE ON search_findable BEGIN {OUT} END",
]
POSTGRESQL = [
    "CREATE EXTENSION IF NOT EXISTS pg_trgm",
    "CREATE INDEX search_findable_trigrams ON search_findable USING gin (words gin_trgm_ops)",
]


def put_up(apps, schema_editor):
    for statement in SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("search", "0001_initial")]
    operations = [migrations.RunPython(put_up, migrations.RunPython.noop)]
