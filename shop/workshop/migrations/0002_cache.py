"""The table of the cache, which lives in the database on both engines."""

from django.core.management import call_command
from django.db import migrations


def make(apps, schema_editor):
    call_command("createcachetable", database=schema_editor.connection.alias, verbosity=0)


class Migration(migrations.Migration):
    dependencies = [("workshop", "0001_initial")]
    operations = [migrations.RunPython(make, migrations.RunPython.noop)]
