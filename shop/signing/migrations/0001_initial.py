from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="SigningKey",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField(unique=True)),
                ("key", models.CharField(max_length=16, unique=True)),
                ("public", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("retired_at", models.DateTimeField(null=True)),
                ("present", models.BooleanField(default=True)),
            ],
            options={
                "ordering": ["-number"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("present", True)),
                        fields=("present",),
                        name="signingkey_one_present",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("present", True), ("retired_at__isnull", True)),
                            models.Q(("present", False), ("retired_at__isnull", False)),
                            _connector="OR",
                        ),
                        name="signingkey_present_or_retired",
                    ),
                ],
            },
        ),
    ]
