"""Triggers that refuse any edit of what is append-only."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("condition", "0001_initial"), ("journal", "0002_append_only")]
    operations = [append_only("condition_conditionlist", "condition_look", "condition_answer")]
