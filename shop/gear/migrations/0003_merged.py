"""Items may be merged and split; marks get a uid."""

import uuid

import django.db.models.deletion
from django.db import migrations, models


def one_each(apps, schema_editor):
    """The column's default gave every mark that stood before the same uid."""
    identifiers = apps.get_model("gear", "Identifier").objects
    for row in identifiers.all():
        identifiers.filter(pk=row.pk).update(uid=uuid.uuid4())


def to_another(name):
    return models.ForeignKey(
        null=True, on_delete=django.db.models.deletion.PROTECT, related_name=name, to="gear.item"
    )


class Migration(migrations.Migration):
    dependencies = [("gear", "0002_sets")]
    operations = [
        migrations.AddField("item", "merged_into", to_another("merged")),
        migrations.AddField("item", "split_from", to_another("split_off")),
        migrations.AddConstraint(
            "item",
            models.CheckConstraint(
                condition=~models.Q(merged_into=models.F("id")), name="item_not_into_itself"
            ),
        ),
        migrations.AddConstraint(
            "item",
            models.CheckConstraint(condition=~models.Q(split_from=models.F("id")), name="item_not_from_itself"),
        ),
        migrations.AddField(
            "identifier", "uid", models.UUIDField(default=uuid.uuid4, editable=False, null=True)
        ),
        migrations.RunPython(one_each, migrations.RunPython.noop),
    ]
