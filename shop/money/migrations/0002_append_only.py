"""Triggers that refuse any edit of what is append-only."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("money", "0001_initial")]
    operations = [append_only("money_taxrate")]
