"""Triggers that refuse any edit of what was taken back."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("clocks", "0003_taken_back")]
    operations = [append_only("clocks_takenback")]
