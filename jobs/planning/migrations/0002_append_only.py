"""Triggers that refuse any edit of a takeover."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("planning", "0001_initial")]
    operations = [append_only("planning_takeover")]
