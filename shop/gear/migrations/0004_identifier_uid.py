"""Each mark has a uid of its own now, so the column can say so."""

import uuid

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("gear", "0003_merged")]
    operations = [
        migrations.AlterField(
            "identifier", "uid", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)
        )
    ]
