"""Triggers that refuse any edit of a doubt, of what it touches and of its answers."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("notices", "0001_initial")]
    operations = [append_only("notices_doubt", "notices_affected", "notices_answer")]
