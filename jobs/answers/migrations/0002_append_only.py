"""Triggers that refuse any edit of an answer and of what was made of it."""

from django.db import migrations

from shop.journal.migrations import append_only


class Migration(migrations.Migration):
    dependencies = [("answers", "0001_initial")]
    operations = [append_only("answers_answer", "answers_settled")]
