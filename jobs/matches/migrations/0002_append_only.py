"""Triggers that refuse any edit of an answer."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("matches", "0001_initial")]
    operations = [append_only("matches_answer")]
