"""Triggers that refuse any edit of a notice, of its withdrawal and of what it matches."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("safety", "0001_initial")]
    operations = [append_only("safety_notice", "safety_withdrawal", "safety_match")]
