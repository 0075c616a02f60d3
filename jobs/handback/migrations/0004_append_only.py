"""Triggers that refuse any edit of what was asked and disposed of."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("handback", "0003_collecting")]
    operations = [append_only("handback_asked", "handback_disposal")]
