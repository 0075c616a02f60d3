"""Triggers that refuse any edit of a withdrawal."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("catalogue", "0003_withdrawals")]
    operations = [append_only("catalogue_withdrawal")]
