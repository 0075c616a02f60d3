"""Triggers that refuse any edit of what was written down of evidence and of its custody."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("evidence", "0001_initial")]
    operations = [append_only("evidence_evidence"), append_only("evidence_evidencecustody")]
